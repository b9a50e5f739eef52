"""What can go wrong, as values a person can act on.

Every error says what happened, where (``file:line`` if there is one) and how to put it right, and carries the exit
status of the command contract:

====== =====================================================================================
status meaning
====== =====================================================================================
0      done, or the answer is yes
1      the answer is no: refused, findings, not proven, different
2      the call, or a file people write, is wrong
3      a defect of ours
4      could not find out: no git, no repository, unreadable, damaged, locked, shallow
130    interrupted
====== =====================================================================================

Exceptions are for "could not do it". What a check found is a value, not an exception.
"""


class Exit:
    """Exit statuses of the console script: plain numbers, since ``enum`` takes longer to import than a hook may."""

    DONE = 0
    NO = 1
    BAD_CALL = 2
    DEFECT = 3
    COULD_NOT = 4
    INTERRUPTED = 130


class ProveoutError(Exception):
    """Base of all errors a person is shown.

    Attributes:
        name: plain slug with a page in ``proveout explain``, e.g. ``unknown-machine``.
        what: one sentence, what is wrong.
        where: ``path`` or ``path:line``, or None.
        fix: one sentence, how to put it right, or None.
        reasons: further lines when there is more than one reason (a refusal lists them all).
    """

    exit: int = Exit.COULD_NOT

    def __init__(
        self,
        name: str,
        what: str,
        *,
        where: str | None = None,
        fix: str | None = None,
        reasons: tuple[str, ...] = (),
    ) -> None:
        super().__init__(what)
        self.name = name
        self.what = what
        self.where = where
        self.fix = fix
        self.reasons = reasons


class Refused(ProveoutError):  # noqa: N818 - reads as what it is: the answer is no
    """The tool could find out, and the answer is no (exit 1)."""

    exit = Exit.NO


class BadCall(ProveoutError):  # noqa: N818 - names the fault, not the class
    """The call, or a file people write, is wrong (exit 2)."""

    exit = Exit.BAD_CALL


class CouldNot(ProveoutError):  # noqa: N818 - names the fault, not the class
    """The tool could not find out; never to be taken for yes or no (exit 4)."""

    exit = Exit.COULD_NOT
