"""A page of ``explain``: what a name means, why it matters, how to put it right."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Page:
    """``sort`` is what kind of name it is: error, standing, finding, kind, verdict or word."""

    name: str
    sort: str
    means: str
    put_right: str = ""
