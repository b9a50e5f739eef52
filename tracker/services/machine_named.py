"""The machine a person named."""

from tracker.errors import BadCall
from tracker.records.problems import nearest_fix
from tracker.records.shop import Machine, Shop


def machine_named(shop: Shop, name: str | None) -> Machine:
    """The machine called ``name``; raises BadCall (``which-machine``, ``unknown-machine``)."""
    known = [one.id for one in shop.machines]
    if name is None:
        listed = ", ".join(known) or "none yet; add one to shop.toml"
        raise BadCall(
            "which-machine", "on which machine?", fix=f"say it with --machine; known here: {listed}"
        )
    machine = shop.machine(name)
    if machine is None:
        raise BadCall(
            "unknown-machine",
            f"there is no machine {name!r} in shop.toml",
            fix=nearest_fix(name, known, "machines"),
        )
    return machine
