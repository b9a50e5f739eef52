"""What a program does: tool sections and modal state."""
