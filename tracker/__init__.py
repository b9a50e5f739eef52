"""proveout: a Git-backed program revision and proof-out tracker for machine shops."""

__version__ = "0.1.0"
