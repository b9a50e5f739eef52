"""The drilling cycle in force: its words stay until it ends."""

from dataclasses import dataclass, field

from tracker.machining.said import Said


@dataclass(slots=True)
class Cycle:
    """What a drilling cycle remembers.

    Attributes:
        code: of the cycle in force, or None.
        initial: where its third axis stood before the first of a row of cycles; None: not known.
        words: figures of R Q I J K in base units by letter, and of the depth under ``"Z"`` in every plane.
        absolute: whether G90 was in force when R and the depth in ``words`` were stated.
        dwell: its P.
    """

    code: str | None = None
    initial: float | None = None
    words: dict[str, float | None] = field(default_factory=dict)
    absolute: dict[str, bool] = field(default_factory=dict)
    dwell: Said | None = None

    def end(self) -> None:
        """No cycle is in force."""
        self.code, self.initial = None, None
        self.words.clear()
        self.absolute.clear()
        self.dwell = None
