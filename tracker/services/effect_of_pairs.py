"""What changed in what the machine does, of the programs of two revisions."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

from tracker.machining.setting import Setting
from tracker.services.difference import Pair
from tracker.services.effect import Effect, effect
from tracker.services.program_text import ProgramText
from tracker.services.summary import called_of, setting_of

if TYPE_CHECKING:
    from tracker.records.shop import Shop
    from tracker.services.revision_text import RevisionText

Settings = tuple[Setting, Setting]


def settings_of(shop: "Shop", old: "RevisionText", new: "RevisionText") -> Settings:
    """What is known of the machines and the called programs of two revisions; the machines are today's."""
    before, after = (_setting(shop, one) for one in (old, new))
    return before, after


def _setting(shop: "Shop", text: "RevisionText") -> Setting:
    names = text.operation.machines if text.operation else ()
    machines = [machine for name in names if (machine := shop.machine(name)) is not None]
    return setting_of(machines, called_of(text.programs))


def plain_settings(sides: Sequence[ProgramText], lathe: bool | None) -> Settings:
    """What is known of two programs beside a shop: what they call in themselves."""
    before, after = (Setting(lathe=lathe, called=called_of([one]).get) for one in sides)
    return before, after


def effects_of_pairs(compared: Sequence[Pair], settings: Settings) -> tuple[Effect, ...]:
    """The effect of every program whose code differs, and of the main program where what it calls makes one."""
    changed = [pair for pair in compared if pair.comparison is not None and not pair.comparison.same_code]
    done = [_effect(pair, settings) for pair in changed]
    called_differ = any(pair.comparison is None for pair in compared) or bool(changed)
    main = compared[0] if compared else None
    if main is not None and main not in changed and main.comparison is not None and called_differ:
        whole = _effect(main, settings)
        if whole.differs:
            done.insert(0, whole)
    return tuple(done)


def _effect(pair: Pair, settings: Settings) -> Effect:
    old = pair.old.data if pair.old else b""
    new = pair.new.data if pair.new else b""
    return effect(pair.name, old, new, *settings)
