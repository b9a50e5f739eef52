"""How much room files take on a medium: whole clusters, and their entries in folders.

An entry of FAT is 32 bytes, a long name takes one for every 13 letters beside its short one, 21 at most (Microsoft, "FAT
File System Specification", version 1.03, sections 6 and 7). While files wait under temporary names, each has a second entry.
"""

from collections.abc import Sequence

LARGEST_CLUSTER = 128 * 1024
"""Bytes; what exFAT is formatted with above 32 GB (from memory). Stands in where the medium does not say its own."""

_ENTRIES = 32 * (21 + 2)
_FOLDERS = (
    3  # clusters: a machine's folder has two parts at most as a rule, and one below for what is to be proved
)


def needed(sizes: Sequence[int], cluster: int | None) -> int:
    """Bytes that so many files of these sizes take at most; ``cluster`` in bytes, None where nobody knows it."""
    unit = min(cluster or LARGEST_CLUSTER, LARGEST_CLUSTER)
    clusters = sum(-(-size // unit) for size in (*sizes, len(sizes) * _ENTRIES))
    return (clusters + _FOLDERS) * unit
