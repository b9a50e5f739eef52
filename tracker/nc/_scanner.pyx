# cython: boundscheck=False, wraparound=False, cdivision=True
"""Compiled scanner: placeholder while building is set up."""
