"""A year of two clones, drawn by lot: whatever the verbs let through must be whole for everybody who looks later.

Every call ends as a call may end, never in a defect; every share goes through, or says that both changed one file and is
told which counts; and an audit, which asks of every commit what a guarded server asks of a push, finds nothing that a
server would refuse.
"""

import json
import random
from datetime import UTC, datetime, timedelta
from pathlib import Path

from tests.fakes.shop_folder import FIGURES, STEPS, ShopFolder, git
from tests.server.any_event import WHAT
from tests.server.any_shop import AT, COMMON, JOB, MACHINES, OPERATION, PEOPLE, POLICIES, PROGRAM, SHOP

BEGIN = datetime(2026, 1, 5, 7, 0, tzinfo=UTC)
STATUSES = (0, 1, 2, 4)
MAY_BE = {"ran-not-usable", "not-checked-in", "two-revisions"}
"""What an audit rightly finds: somebody ran what he should not have, has not checked in yet, or two checked in side by side."""


class Broken(AssertionError):  # noqa: N818 - what the test says
    """The year went wrong; says after which calls."""


class Year:
    """Two clones, ``a`` and ``b``, and the shared repository between them."""

    def __init__(self, place: Path, seed: int, capsys, monkeypatch, *, guarded: bool = False) -> None:
        """guarded: the shared repository has the gate, and the clock is the real one, which a gate insists on."""
        self.guarded, self.monkeypatch = guarded, monkeypatch
        monkeypatch.delenv("PROVEOUT_NOW", raising=False)
        self.lot = random.Random(seed)
        self.place, self.seed = place, seed
        self.now = datetime.now(UTC) if guarded else BEGIN
        self.clones = {name: ShopFolder(place / name, capsys, monkeypatch) for name in "ab"}
        self.values: dict[tuple[str, str], dict[str, object]] = {}
        self.drawing: dict[str, str] = {}
        self.policy, self.group, self.left = 0, True, ""
        self.log: list[str] = []
        self.counts: dict[str, list[int]] = {}

    # the world

    def begin(self) -> None:
        first = self.clones["a"]
        first.folder.mkdir(parents=True)
        self.set_clock(first)
        first.put("shop.toml", self.shop())
        first.run("init", ".", "--name", "Any shop")
        first.put("common/O8001.nc", COMMON.format(words="", more=""))
        for job in ("4001", "4002", "4003"):
            self.drawing[job] = "A"
            for op in ("op10", "op20")[: self.lot.choice((1, 2))]:
                self.values[job, op] = {
                    "number": f"{job[0]}{job[2:]}{op[2]}",
                    "speed": 2000,
                    "feed": 15,
                    "feed2": 12,
                    "cool": 8,
                    "reach": 3,
                    "stick_out": 2.5,
                    "machines": '"MILL1", "MILL2"',
                    "call": self.lot.choice(("", "N90 M98 P8001\n")),
                    "words": "PART",
                }
            self.write(first, job)
            first.run("checkin", "--all", "-m", "first issue", "--by", "np", "--yes")
        git(self.place, "init", "-q", "--bare", "-b", "main", "server.git")
        if self.guarded:
            first.run("install", "--server", str(self.place / "server.git"))
        git(first.folder, "branch", "-q", "-M", "main")
        git(first.folder, "remote", "add", "origin", "../server.git")
        first.run("share", "--by", "np")
        git(self.place, "clone", "-q", "server.git", "b")
        for name in "ab" if self.guarded else "":
            self.clones[name].run("install")
        (self.place / "BLUE-1").mkdir()
        (self.place / "EMPTY").mkdir()

    def set_clock(self, clone: ShopFolder) -> None:
        if self.guarded:
            self.now = datetime.now(UTC)
        else:
            clone.at(self.said_now())

    def said_now(self) -> str:
        return self.now.strftime("%Y-%m-%dT%H:%M:%SZ")

    def earlier(self, hours: int) -> str:
        """Some time in so many hours before now."""
        before = self.now - timedelta(hours=self.lot.randrange(1, hours))
        return before.strftime("%Y-%m-%dT%H:%M:%SZ")

    def shop(self) -> str:
        people = ""
        for initials, roles in PEOPLE.items():
            said = ", ".join(f'"{role}"' for role in roles)
            gone = f"left = {self.now:%Y-%m-%d}\n" if initials == self.left else ""
            people += f'[[people]]\ninitials = "{initials}"\nname = "{initials} of here"\nemail = "{initials}@shop.example"\nroles = [{said}]\n{gone}'
        group = 'group = "MILLS"\n' if self.group else ""
        return SHOP.format(policy=POLICIES[self.policy], people=people, group=group)

    def write(self, clone: ShopFolder, job: str) -> None:
        operations = ""
        for (of, op), values in self.values.items():
            if of == job:
                operations += OPERATION.format(op=op, **values)
                text = PROGRAM.format(**values).replace("(PART)", f"({values['words']})")
                if values.get("renumbered"):
                    text = text.replace("N2", "N3")
                clone.put(f"jobs/{job}/{op}/O{values['number']}.nc", text)
        clone.put(
            f"jobs/{job}/job.toml", JOB.format(job=job, drawing=self.drawing[job], operations=operations)
        )

    # calls

    def call(self, name: str, *words: str, statuses=STATUSES) -> tuple[int, dict]:
        clone = self.clones[name]
        self.set_clock(clone)
        status, out, err = clone.call(*words, "--json")
        self.log.append(f"{self.said_now()} {name}: {status} {' '.join(map(repr, words))}")
        self.counts.setdefault(words[0], [0, 0])[bool(status)] += 1
        if status not in statuses:
            raise Broken(self.told(f"ended with {status}\n{out[-3000:]}\n{err}"))
        try:
            said = json.loads(out)
        except ValueError:
            raise Broken(self.told(f"answered no JSON: {out!r} {err!r}")) from None
        if "error" in said:
            self.log[-1] += f"   -> {said['error']['name']}: {said['error'].get('message', said['error'])}"
        return status, said

    def told(self, why: str) -> str:
        return f"seed {self.seed}\n" + "\n".join(self.log[-60:]) + f"\n{why}"

    def any_op(self) -> tuple[str, str]:
        return self.lot.choice(list(self.values))

    @staticmethod
    def is_own(name: str, job: str) -> bool:
        """Whether the texts of the job are written at this clone."""
        return (int(job) % 2 == 0) == (name == "b")

    def someone(self, name: str, role: str) -> str:
        """Of those at this clone, mostly one who may."""
        may = [who for who in AT[name] if role in PEOPLE[who]]
        return self.lot.choice(AT[name] if self.lot.random() < 0.1 else may)

    def some_revision(self, name: str, job: str, op: str) -> str:
        """Mostly the newest; else one of those there are."""
        if self.lot.random() < 0.75:
            return f"{job}/{op}"
        rows = sorted((self.clones[name].folder / f"jobs/{job}/records/{op}").glob("r????-????????.toml"))
        if not rows:
            return f"{job}/{op}"
        return f"{job}/{op}@r{int(self.lot.choice(rows).name[1:5])}"

    def some_release(self, name: str, job: str) -> str:
        rows = sorted((self.clones[name].folder / f"jobs/{job}/records").glob("release-*.toml"))
        return f"{job}@{int(self.lot.choice(rows).stem[-4:])}" if rows else f"{job}@1"

    def answers(self) -> str:
        steps = [*STEPS, "P11"] if self.lot.random() < 0.2 else list(STEPS)
        text = ""
        for step in steps:
            text += f"[{step}]\ndone = true\n" + (f"value = {FIGURES[step]}\n" if step in FIGURES else "")
        path = self.place / "answers.toml"
        path.write_text(text, encoding="utf-8")
        return str(path)

    def step(self) -> None:
        self.now += timedelta(seconds=self.lot.choice((1, 2, 40, 600, 7000)))
        what = self.lot.choices([one for one, _ in WHAT], [weight for _, weight in WHAT])[0]
        what(self, self.lot.choice("ab"))

    # what must hold

    def share(self, name: str) -> None:
        """Send and fetch; where both changed a file, one of the texts is chosen, and all of it is checked in again."""
        by = AT[name][0]
        status, said = self.call(name, "share", "--by", by)
        if status and said.get("both_changed"):
            files = [one["file"] for one in said["both_changed"]]
            status, said = self.call(
                name, "share", "--take", self.lot.choice(("ours", "theirs")), *files, "--by", by
            )
            if not status:
                self.call(name, "checkin", "--all", "-m", "what both changed", "--by", by, "--yes")
                status, said = self.call(name, "share", "--by", by)
        if status:
            self.log.append(json.dumps(said, indent=1)[:3000])
            raise Broken(self.told("a share did not go through"))

    def lets_out(self, machine: str, board: list[dict]) -> None:
        """What an export lets out is what the board says may run; the one reads objects, the other an index."""
        _, said = self.call(
            "a", "export", "--machine", machine, "--to", str(self.place / "EMPTY"), "--by", "ss", "--dry-run"
        )
        out = {(row["job"], row["operation"]): row for row in said.get("operations", ())}
        for row in board:
            here = out.pop((row["job"], row["operation"]), None)
            same = here is not None and row["revision"] == here["revision"]
            newer = here is not None and any(
                "newer" in note and row["revision"] in note for note in here["notes"]
            )
            if same != row["may_run"] or (here is not None and not same and not newer):
                raise Broken(self.told(f"{machine}: the board says {row}, an export {here}"))
        if any(
            not any("newer" in note for note in row["notes"]) for row in out.values()
        ):  # for the machine in what is released alone
            raise Broken(self.told(f"{machine}: an export lets out {out}, of which the board knows nothing"))

    def meet(self) -> None:
        for name in ("a", "b", "a"):
            self.share(name)
        boards = {name: self.call(name, "status", statuses=(0,))[1]["operations"] for name in "ab"}
        if boards["a"] != boards["b"]:
            raise Broken(self.told(f"two boards:\n{boards['a']}\n{boards['b']}"))
        for machine in MACHINES:
            self.lets_out(machine, [row for row in boards["a"] if row["machine"] == machine])
        _, said = self.call("a", "audit", statuses=(0, 1))
        return [one for one in said["problems"] if one["problem"] not in MAY_BE]
