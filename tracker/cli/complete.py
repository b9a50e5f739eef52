"""What a shell offers when Tab is pressed: machines, jobs and their operations, standings, pages of ``explain``.

Looked up in the folder the person stands in; letter case counts, as a shell has it. What cannot be read offers nothing:
a shell in the middle of a line is no place for an error.
"""

from collections.abc import Iterable

from tracker.errors import ProveoutError


def machines(incomplete: str) -> list[str]:
    """Ids of shop.toml."""
    from tracker.wiring import open_desk

    try:
        return _begun(incomplete, (one.id for one in open_desk(".").repo.tree().shop().machines))
    except (ProveoutError, OSError):
        return []


def operations(incomplete: str) -> list[str]:
    """Numbers of jobs, as their folders are spelled; of one that is written out, its operations too (``4471/op10``). Only such a job.toml is read."""
    from tracker.services.paths import folder_of, name_of
    from tracker.wiring import open_desk

    number = incomplete.partition("/")[0]
    try:
        tree = open_desk(".").repo.tree()
        paths = {name_of(folder_of(path)): path for path in tree.job_paths().values()}
        found = [] if "/" in incomplete else [*paths]
        for name, path in paths.items():
            if name.casefold() == number.casefold():
                found += [f"{name}/{operation.id}" for operation in tree.job(path).operations]
    except (ProveoutError, OSError):
        return []
    return _begun(incomplete, found)


def jobs(incomplete: str) -> list[str]:
    """Numbers of jobs."""
    return [name for name in operations(incomplete) if "/" not in name]


def to_check_in(incomplete: str) -> list[str]:
    """The same, and shop.toml."""
    return [*operations(incomplete), *_begun(incomplete, ["shop.toml"])]


def standings(incomplete: str) -> list[str]:
    """The seven standings; the last word where several stand with commas."""
    from tracker.policy.states import PRECEDENCE

    before, comma, word = incomplete.rpartition(",")
    return [before + comma + name for name in _begun(word, PRECEDENCE)]


def pages(incomplete: str) -> list[str]:
    """Names of pages, those of the manual among them."""
    from tracker.reports.explain import all_pages

    return _begun(incomplete, all_pages())


def _begun(incomplete: str, names: Iterable[str]) -> list[str]:
    return sorted({name for name in names if name.startswith(incomplete)})
