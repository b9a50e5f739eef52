"""Use cases, one verb a file, on ports; no I/O of their own."""
