"""Reports as text, JSON or HTML; no store access."""
