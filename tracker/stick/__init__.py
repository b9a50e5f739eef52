"""The folder programs travel on: names, manifest, copy and read back."""
