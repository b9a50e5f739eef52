"""Rules between the keys of a people's file, on the mapping as read (values may still be of the wrong kind).

Shop: ids, initials and stick folders unique without regard to case, e-mail addresses on every day; a stick's owner is listed; nobody left before he
came; a kind of change stands in one list and in none looser than the one it comes with. Job: operation ids unique, an
alternative names another operation that is none itself, tools and offsets stand once, a waiver names a tool or a
line, programs lie inside the repository.
"""

from collections.abc import Iterator, Mapping
from datetime import date

from tracker.records.problems import Path, Problem, nearest_fix
from tracker.records.shop import CARRY, REPROVE, REVIEW
from tracker.records.value_rules import leads_out, usual_offset
from tracker.typed import cast

# from the loosest to the strictest; a kind in none of them asks for a full proof
_LISTS = (("carry", CARRY), ("review", REVIEW), ("reprove", REPROVE))
_PLACE = {kind: place for place, (_, kinds) in enumerate(_LISTS) for kind in kinds}
_FULL_PROOF = ("flow", "mode", "program-number", "program-added", "program-removed", "post", "other")

Row = Mapping[str, object]


def shop_problems(mapping: Row) -> Iterator[Problem]:
    """What is wrong between the keys of shop.toml."""
    people = list(_rows(mapping, "people", ()))
    machines = list(_rows(mapping, "machines", ()))
    sticks = list(_rows(mapping, "sticks", ()))
    yield from _twice(people, "initials", "initials")
    yield from _twice(machines, "id", "machine")
    yield from _twice(sticks, "name", "stick")
    yield from _folders_twice(machines)
    for path, person in people:
        since, left = person.get("since"), person.get("left")
        if type(since) is date and type(left) is date and left < since:
            yield Problem(
                (*path, "left"), f"the last day {left} lies before the first, {since}", "check both dates"
            )
    yield from _addresses_twice(people)
    yield from _keys_twice(people)
    initials = [text for _, row in people if isinstance(text := row.get("initials"), str)]
    for path, stick in sticks:
        owner = stick.get("owner")
        if isinstance(owner, str) and owner.lower() not in [one.lower() for one in initials]:
            yield Problem(
                (*path, "owner"),
                f"nobody here has the initials {owner!r}",
                nearest_fix(owner, initials, "initials"),
            )
    policy = mapping.get("policy")
    if isinstance(policy, Mapping):
        yield from _policy_problems(policy)


def _addresses_twice(people: list[tuple[Path, Row]]) -> Iterator[Problem]:
    """Two people with one e-mail address on one day: git's e-mail would stand for either of them.

    Somebody who came after the other had left may have taken the address over.
    """
    seen: list[tuple[str, Row]] = []
    for path, row in people:
        text = row.get("email")
        if not isinstance(text, str):
            continue
        address = text.strip().casefold()
        other = next((one for known, one in seen if known == address and _on_one_day(one, row)), None)
        if other is not None:
            yield Problem(
                (*path, "email"),
                f"{other.get('initials')} has the e-mail address {text!r} too",
                "give each person an address of his own; one who left keeps it to the day in `left`",
            )
        seen.append((address, row))


def _keys_twice(people: list[tuple[Path, Row]]) -> Iterator[Problem]:
    """One key in two places: a signature would be in either name. What remark stands behind it does not matter."""
    seen: dict[tuple[str, ...], str] = {}
    for path, row in people:
        keys, who = row.get("keys"), str(row.get("initials"))
        for text in keys if isinstance(keys, list) else ():
            words = tuple(text.split()[:2]) if isinstance(text, str) else ()
            if words in seen:
                same = seen[words] == who
                says = f"names {words[1][-12:]} twice" if same else f"{seen[words]} has this key too"
                fix = "take one out" if same else "a key is of one person: each person makes one"
                yield Problem((*path, "keys"), f"keys: {says}", fix)
            elif len(words) == 2:
                seen[words] = who


def _on_one_day(one: Row, other: Row) -> bool:
    """Whether there is a day both are listed for; a person who stands twice is told by the initials."""
    names = [str(row.get("initials", "")).casefold() for row in (one, other)]
    return names[0] != names[1] and _begins(one) <= _ends(other) and _begins(other) <= _ends(one)


def _begins(row: Row) -> date:
    since = row.get("since")
    return since if type(since) is date else date.min


def _ends(row: Row) -> date:
    left = row.get("left")
    return left if type(left) is date else date.max


def _folders_twice(machines: list[tuple[Path, Row]]) -> Iterator[Problem]:
    """Two machines with one folder on the stick; where none is stated it is the id (ids are judged by themselves)."""
    stated = [(path, row) for path, row in machines if "folder" in row]
    ids = {
        text.lower() for _, row in machines if "folder" not in row and isinstance(text := row.get("id"), str)
    }
    yield from _twice(stated, "folder", "folder on the stick")
    for path, row in stated:
        folder = row["folder"]
        if isinstance(folder, str) and folder.lower() in ids:
            fix = f"choose another: {folder} is the folder of the machine with that id"
            yield Problem((*path, "folder"), f"the folder on the stick {folder!r} stands twice", fix)


def effective_lists(policy: Row) -> dict[str, tuple[str, ...]]:
    """The three lists in force: a kind that one stated list names leaves the defaults of the lists not stated."""
    stated = {name: tuple(_texts(policy[name])) for name, _ in _LISTS if name in policy}
    moved = {kind for kinds in stated.values() for kind in kinds}
    return {
        name: stated.get(name, tuple(kind for kind in default if kind not in moved))
        for name, default in _LISTS
    }


def _policy_problems(policy: Row) -> Iterator[Problem]:
    """Kinds may be moved to a stricter list only; each stands in one list."""
    seen: dict[str, str] = {}
    for place, (name, _) in enumerate(_LISTS):
        for at, kind in enumerate(_texts(policy.get(name))):
            path: Path = ("policy", name, at)
            if kind in _FULL_PROOF:
                yield Problem(path, f"{kind!r} always asks for a full proof", f"take it out of {name}")
            elif kind not in _PLACE:
                yield Problem(path, f"{kind!r} is no kind of change", nearest_fix(kind, _PLACE, "kinds"))
            elif place < _PLACE[kind]:
                home = _LISTS[_PLACE[kind]][0]
                yield Problem(
                    path,
                    f"{kind!r} belongs to {home}; {name} would be looser",
                    f"put it back into {home}: a kind may be moved to a stricter list only",
                )
            if kind in seen and seen[kind] != name:
                yield Problem(
                    path, f"{kind!r} stands in {seen[kind]} and in {name}", "keep it in the stricter one"
                )
            seen.setdefault(kind, name)


def job_problems(mapping: Row, folder: str | None) -> Iterator[Problem]:
    """What is wrong between the keys of job.toml."""
    operations = list(_rows(mapping, "operations", ()))
    yield from _twice(operations, "id", "operation")
    for path, operation in operations:
        if len(operations) > 1 and "id" not in operation:
            yield Problem(path, "this operation has no id", 'add a line like: id = "op20"')
        program = operation.get("program")
        if folder is not None and isinstance(program, str) and leads_out(folder, program):
            yield Problem(
                (*path, "program"),
                f"the program {program!r} lies outside the repository",
                "copy it into the job's folder or into common/",
            )
        yield from _alternative_problems(path, operation, operations)
        yield from _sheet_problems(path, operation)


def _alternative_problems(
    path: Path, operation: Row, operations: list[tuple[Path, Row]]
) -> Iterator[Problem]:
    wanted = operation.get("alternative_to")
    if not isinstance(wanted, str):
        return
    at: Path = (*path, "alternative_to")
    by_id = {text.lower(): row for _, row in operations if isinstance(text := row.get("id", "op10"), str)}
    original = by_id.get(wanted.lower())
    if original is operation:
        yield Problem(
            at, "an operation is no alternative to itself", "name the operation whose place it takes"
        )
    elif original is None:
        ids = [str(row.get("id", "op10")) for _, row in operations if row is not operation]
        yield Problem(at, f"there is no operation {wanted!r}", nearest_fix(wanted, ids, "operations"))
    elif "alternative_to" in original:
        yield Problem(
            at,
            f"{wanted!r} is an alternative itself",
            f"name the one it stands for: {original['alternative_to']}",
        )


def _sheet_problems(path: Path, operation: Row) -> Iterator[Problem]:
    numbers: list[object] = []
    for at, tool in _rows(operation, "tools", path):
        number = tool.get("number")
        if isinstance(number, int) and number in numbers:
            yield Problem(
                (*at, "number"), f"tool {number} stands twice on the sheet", "give each tool one table"
            )
        numbers.append(number)
    codes: list[str] = []
    for at, offset in _rows(operation, "offsets", path):
        code = offset.get("code")
        usual = usual_offset(code) if isinstance(code, str) else None
        if usual is not None and usual in codes:
            yield Problem(
                (*at, "code"), f"{usual} stands twice on the sheet", "give each work offset one table"
            )
        codes += [usual] if usual else []
    for at, waiver in _rows(operation, "waivers", path):
        if "tool" not in waiver and "line" not in waiver:
            yield Problem(
                at, "this waiver names neither a tool nor a line", "add tool = 3, or line = the line's text"
            )


def _twice(rows: list[tuple[Path, Row]], key: str, what: str) -> Iterator[Problem]:
    seen: set[str] = set()
    for path, row in rows:
        text = row.get(key)
        if isinstance(text, str):
            if text.lower() in seen:
                fix = "ids are unique without regard to case and never used again; choose another"
                yield Problem((*path, key), f"the {what} {text!r} stands twice", fix)
            seen.add(text.lower())


def _rows(mapping: Row, key: str, path: Path) -> Iterator[tuple[Path, Row]]:
    held = mapping.get(key)
    for at, row in enumerate(held if isinstance(held, list) else []):
        if isinstance(row, Mapping):
            yield (*path, key, at), cast(Row, row)


def _texts(value: object) -> list[str]:
    return [one for one in value if isinstance(one, str)] if isinstance(value, list) else []
