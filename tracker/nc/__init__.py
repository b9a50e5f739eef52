"""The NC language: bytes in, values out; lossless, no I/O."""
