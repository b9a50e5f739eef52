"""A person's day in one clone, in a process of its own: ``python -m tests.server.busy PLAN.json``.

The plan names the clone's ``folder``, its own ``job``, the job both work on, its ``people`` (programmer, setup, quality), how many
``rounds`` of five events, and the ``meeting``: a folder where the two processes wait for each other before they share, so that both
have something new each time. What was done is written to ``meeting/<job>.json``, whatever becomes of it.
"""

import contextlib
import io
import json
import sys
import time
from pathlib import Path

from tracker.cli.entry import main

ROUNDS_A_SHARE = 2


class StoppedError(Exception):
    """A call ended otherwise than it should, or the other process is gone."""


class Day:
    def __init__(self, plan):
        self.folder = Path(plan["folder"])
        self.job, self.common, self.rounds = plan["job"], plan["common"], plan["rounds"]
        self.programmer, self.setup, self.quality = plan["people"]
        self.answers, self.meeting, self.other = plan["answers"], Path(plan["meeting"]), plan["other"]
        self.told = {"events": [], "shares": [], "fault": None}

    def call(self, *words):
        out = io.StringIO()
        with contextlib.redirect_stdout(out), contextlib.redirect_stderr(out):
            status = main(["-C", str(self.folder), *words])
        if status != 0:
            raise StoppedError(f"{' '.join(words)} ended with {status}\n{out.getvalue()}")
        return out.getvalue()

    def event(self, name, *words):
        self.call(*words)
        self.told["events"].append(name)

    def round(self, number):
        operation, on = f"{self.job}/op10", ("--machine", "MILL2", "--by", self.setup)
        (program,) = (self.folder / "jobs" / self.job / "op10").glob("O*.nc")
        first, rest = program.read_bytes().split(b" (", 1)
        program.write_bytes(first + b" (" + f"{number} ".encode() + rest.split(b" ", 1)[-1])
        self.event("checkin", "checkin", self.job, "-m", f"note {number}", "--by", self.programmer)
        proved = ("--accept", "--first-piece", "report 7", "--answers", self.answers, "--yes")
        self.event("proof", "prove", operation, *on, *proved)
        self.event(
            "ran", "ran", f"{self.common}/op10" if number % 2 else operation, *on, "--lot", f"L{number}"
        )
        self.event("hold", "hold", operation, "--by", self.setup, "-m", "chatter")
        self.event("lift", "lift", operation, "--by", self.quality, "-m", "insert changed")

    def meet(self, number):
        """Wait until the other is as far."""
        (self.meeting / f"{self.job}-{number}").touch()
        while not (self.meeting / f"{self.other}-{number}").exists():
            if (self.meeting / "over").exists():
                raise StoppedError("the other process is gone")
            time.sleep(0.005)

    def run(self):
        for number in range(1, self.rounds + 1):
            self.round(number)
            if number % ROUNDS_A_SHARE == 0:
                self.meet(number)
                said = json.loads(self.call("share", "--by", self.programmer, "--json"))
                self.told["shares"].append({key: said[key] for key in ("received", "sent", "merge")})


def run(plan_file):
    plan = json.loads(Path(plan_file).read_text(encoding="utf-8"))
    day = Day(plan)
    try:
        day.run()
    except StoppedError as fault:
        day.told["fault"] = str(fault)
    finally:
        path = day.meeting / f"{day.job}.json"
        path.write_text(json.dumps(day.told), encoding="utf-8")
    return 1 if day.told["fault"] else 0


if __name__ == "__main__":
    sys.exit(run(sys.argv[1]))
