"""``share``: fetch, bring together, push, release tags included.

Nothing that is recorded is ever written anew: where both sides went on, a merge with both as parents is made, whose
every file has the bytes it has on one side (`tracker.services.share_join`). A file both changed stops it, until a person
chooses. What came in stays when the push is refused; where somebody else was faster it is tried again.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

from tracker.errors import BadCall, CouldNot, ProveoutError, Refused
from tracker.policy.find import label, newest
from tracker.policy.may import require
from tracker.policy.spelled import counted
from tracker.records.events import RevisionRecord
from tracker.records.shop import Person
from tracker.services.desk import Desk, acting
from tracker.services.ports import Head
from tracker.services.ports_share import Choice, Entries, Remote, SharedRepository, There
from tracker.services.recording import attached_head, one_line
from tracker.services.share_asked import Asked, ShareReport, no_shared_repository, push_refused
from tracker.services.share_both import Sides, action_for, chosen_now, describe, still_valid
from tracker.services.share_branches import came_in, only_here
from tracker.services.share_join import between, clashes, join, records_changed
from tracker.services.share_send import Sent, parted, send
from tracker.services.share_stops import Stops, send_stops
from tracker.services.share_tags import not_believed, sort_tags

_TRIES = 6
# what keeps two sides of one record apart until somebody has put it right
_WAITS = ("in-the-way", "links-changed", "name-clash", "records-changed")
NOBODY = Person(initials="share", name="proveout share", email="share@localhost", roles=())


def share(desk: Desk, shared: SharedRepository, asked: Asked, *, remote: str | None = None) -> ShareReport:
    """Share the branch in hand.

    Raises:
        BadCall: ``unknown-remote``, ``wrong-call``, ``nothing-to-choose``, ``who``, unknown people.
        Refused: ``no-shared-repository``, ``detached-head``, ``in-the-way``, ``unmerged``, ``records-changed``,
            ``unrelated``, ``other-branch``, ``name-clash``, ``push-refused``, ``wrong-role``.
        CouldNot: ``unreachable``, ``not-let-in``, ``sharing``, ``race-lost``, and what the clone cannot tell.
    """
    if (asked.take is None) != (not asked.files):
        raise BadCall(
            "wrong-call", "--take and the files go together", fix="proveout share --take ours|theirs FILE"
        )
    if asked.take not in (None, "ours", "theirs"):
        raise BadCall("wrong-call", f"--take knows no side {asked.take!r}", fix="say ours or theirs")
    shared.check()
    place = shared.remote(remote, attached_head(desk).branch)
    if place is None:
        raise no_shared_repository()
    shared.begin()
    try:
        return _Sharing(desk=desk, shared=shared, place=place, asked=asked).run()
    finally:
        shared.end()


@dataclass(slots=True, kw_only=True)
class _Sharing:
    """One call."""

    desk: Desk
    shared: SharedRepository
    place: Remote
    asked: Asked
    went: Sent = field(default_factory=Sent)

    def run(self) -> ShareReport:
        """Fetch, bring together, push; again while somebody else is faster."""
        if self.asked.by is not None:
            acting(self.desk, self.desk.repo.tree().shop(), self.asked.by)
        report = ShareReport(
            remote=self.place.name,
            address=self.place.address,
            branch=attached_head(self.desk).branch or "",
            dry_run=self.asked.dry_run,
        )
        before = self.shared.branches(self.place)
        for _ in range(_TRIES):
            there = self.shared.fetch(self.place, self.desk.clock.now())
            try:
                report = self._bring_in(report, there)
            except (Refused, CouldNot) as fault:
                if fault.name == "moved":
                    continue  # somebody recorded here meanwhile: on top of that, then
                if fault.name in _WAITS:
                    fault.reasons += self._stops(report).words
                raise
            if report.stopped:
                return self._told(replace(report, stops=self._stops(report)), before, there)
            done = self._send(report, there)
            if done is not None:
                return self._told(done, before, there)
        raise CouldNot(
            "race-lost",
            f"others kept sending or recording: {_TRIES} times somebody was faster; everything recorded here is kept",
            where=self.place.address,
            fix="share again in a minute",
        )

    def _bring_in(self, report: ShareReport, there: There) -> ShareReport:
        head = attached_head(self.desk)
        theirs = there.branches.get(report.branch)
        self._related(head, there, theirs)
        if theirs is None or head.commit == theirs:
            self._nothing_chosen()
            return report
        behind = self.shared.ahead(theirs, head.commit)
        report = replace(report, received=report.received + behind)
        if not behind:
            self._only_added(head.commit or "", [theirs], "here")
        elif head.commit is None or not self.shared.ahead(head.commit, theirs):
            self._only_added(theirs, [head.commit] if head.commit else [], "there")
            self._advance(head, theirs, self._person(None))
        else:
            return self._merge(report, head, there, theirs)
        self._nothing_chosen()
        return report

    def _related(self, head: Head, there: There, theirs: str | None) -> None:
        """A branch of its own must have grown out of the same record."""
        if theirs is not None and (head.commit is None or self.shared.bases(head.commit, theirs)):
            return
        main = there.branches.get(there.main or "")
        others = [main] if main is not None else list(there.branches.values())
        if theirs is None and not others:
            return
        if head.commit is None:
            name = there.main if main is not None else next(iter(there.branches))
            what = f"nothing is recorded here, and the shared repository has no branch {head.branch}"
            raise Refused("other-branch", what, where=self.place.address, fix=f"git switch {name}")
        if theirs is not None or not any(self.shared.bases(head.commit, one) for one in others):
            raise Refused(
                "unrelated",
                "the shared repository holds another record: the two have nothing in common",
                where=self.place.address,
                fix="look at its address (git remote -v); two records are never made one",
            )

    def _only_added(self, side: str, bases: Sequence[str], where: str) -> None:
        changed = records_changed(self.shared.entries(side), [self.shared.entries(base) for base in bases])
        if not changed:
            return
        raise Refused(
            "records-changed",
            f"records were taken away or changed {where}, and records are only ever added; nothing was shared",
            reasons=tuple(self._who_changed(side, bases[0], path) for path in changed),
            fix="put them back as they were (git checkout COMMIT -- FILE) in a commit of its own, then share again",
        )

    def _who_changed(self, side: str, base: str, path: str) -> str:
        edit = self.shared.last_edit(side, base, path)
        return f"{path} (by {edit.by}, commit {edit.commit[:8]})" if edit else path

    def _merge(self, report: ShareReport, head: Head, there: There, theirs: str) -> ShareReport:
        ours = head.commit or ""
        bases = self.shared.bases(ours, theirs)
        self._only_added(ours, bases, "here")
        self._only_added(theirs, bases, "there")
        sides = Sides(
            ours=ours, theirs=theirs, here=self.shared.entries(ours), there=self.shared.entries(theirs)
        )
        roots = [self.shared.entries(base) for base in bases]
        both = join(sides.here, sides.there, roots).both
        chosen = self._chosen(sides, both)
        found = describe(self.shared, sides, both, chosen)
        report = replace(report, both=found, merged=True)
        if report.stopped:
            return replace(report, received=0, merged=False)
        taken = {one.path: one.ours if one.side == "ours" else one.theirs for one in chosen}
        joined = join(sides.here, sides.there, roots, taken)
        self._no_clash(sides, list(joined.entries))
        if self.asked.dry_run:
            return report
        person = self._person(chosen)
        made = self._join(sides, joined.entries, self._message(sides, chosen), person, there)
        self._advance(head, made, person)
        self.shared.keep_choices(())
        return replace(report, merge=made)

    def _join(self, sides: Sides, entries: Entries, message: str, person: Person, there: There) -> str:
        """The merge that holds ``entries``; of a line that goes out in steps, one merge a step, the last of them that.

        A step that does not come after what is there could not be sent: no branch is moved elsewhere.
        """
        tips = [step.tip for step in parted(self.shared, sides.ours, there, None) or ()] or [sides.ours]
        made, at = sides.theirs, self.desk.clock.now()
        for tip in tips:
            here = sides.here if tip == sides.ours else self.shared.entries(tip)
            held = between(entries, here, sides.there)
            made = self.shared.join(tip, made, held, message, person, at)
        return made

    def _chosen(self, sides: Sides, both: Sequence[str]) -> tuple[Choice, ...]:
        kept = still_valid(self.shared.choices(), sides, both)
        if not self.asked.files:
            return kept
        person = self._chooser()
        new = chosen_now(self.asked.take, self.asked.files, sides, both, person.initials)
        over = {one.path for one in new}
        chosen = (*(one for one in kept if one.path not in over), *new)
        if not self.asked.dry_run:
            self.shared.keep_choices(chosen)
        return chosen

    def _chooser(self) -> Person:
        shop = self.desk.repo.tree().shop()
        person = acting(self.desk, shop, self.asked.by)
        action = action_for(self.asked.files)
        require(shop, person, action, self.desk.clock.now(), off_control=action == "checkin")
        return person

    def _nothing_chosen(self) -> None:
        if self.asked.files and not self.asked.dry_run:
            self.shared.keep_choices(())
        if self.asked.files:
            raise BadCall(
                "nothing-to-choose", "no file was changed on both sides", fix="proveout share, without --take"
            )

    def _person(self, chosen: Sequence[Choice] | None) -> Person:
        """Who brings together; where nothing was chosen nobody has to answer for it."""
        if chosen is None or (not chosen and self.asked.by is None and self.desk.email is None):
            return NOBODY
        shop = self.desk.repo.tree().shop()
        try:
            return acting(self.desk, shop, self.asked.by or (chosen[-1].by if chosen else None))
        except BadCall:
            if chosen or self.asked.by is not None:
                raise
            return NOBODY

    def _message(self, sides: Sides, chosen: Sequence[Choice]) -> str:
        mine, came = self.shared.ahead(sides.ours, sides.theirs), self.shared.ahead(sides.theirs, sides.ours)
        head = f"share: {counted(mine, 'commit')} of here and {came} of {self.place.name} brought together"
        lines = [f"{one.path}: took {one.side}, chosen by {one.by}" for one in chosen]
        reason = one_line(self.asked.reason)
        return "\n".join([head, *([""] if lines or reason else []), *lines, *([reason] if reason else [])])

    def _no_clash(self, sides: Sides, paths: Sequence[str]) -> None:
        found = clashes(paths, sides.here, sides.there)
        if found:
            raise Refused(
                "name-clash",
                "two files would have one name on another PC; nothing was brought together",
                reasons=found,
                fix="rename one of them here, check it in, then share again",
            )

    def _advance(self, head: Head, new: str, person: Person) -> None:
        if not self.asked.dry_run:
            why = f"share: from {self.place.name}"
            self.shared.advance(head, new, why, person, self.desk.clock.now())

    def _send(self, report: ShareReport, there: There) -> ShareReport | None:
        """Take tags, push; None when somebody else was faster."""
        commit = attached_head(self.desk).commit
        theirs = there.branches.get(report.branch)
        tags = sort_tags(self.desk, self.shared, there, commit)
        notes = tags.notes
        if tags.take and not self.asked.dry_run:
            self.shared.take_tags(tags.take)
            notes += not_believed(self.desk, self.shared, tags.take)
        report = replace(
            report,
            tags_received=(*report.tags_received, *(_tag(ref) for ref in tags.take)),
            tags_sent=tuple(_tag(ref) for ref in (*self.went.tags, *tags.send)),
            tag_notes=notes,
            sent=self.went.commits + self.shared.ahead(commit, theirs),
        )
        if self.asked.dry_run or commit is None or (commit == theirs and not tags.send):
            return report
        done = send(self.shared, self.place, report.branch, commit, tags.send, there)
        self.went = done.after(self.went)
        if done.answer == "race":
            return None
        if done.answer == "refused":
            raise push_refused(self.place, done.lines, self.went.commits, self._stops(report).words)
        return replace(report, pushes=self.went.pushes)

    def _stops(self, report: ShareReport) -> Stops:
        """What only stops use goes out by itself where the rest cannot."""
        if report.dry_run:
            return Stops()
        return send_stops(self.desk, self.shared, self.place, report.branch)

    def _told(self, report: ShareReport, before: Mapping[str, str], there: There) -> ShareReport:
        """The report with what the tree in hand says now; what cannot be read there is no reason not to share."""
        head = attached_head(self.desk).commit
        report = replace(
            report,
            came_beside=came_in(self.shared, before, there, report.branch, head),
            only_here=only_here(self.shared, before, there, report.branch, head),
        )
        try:
            ledger = self.desk.repo.ledger()
        except ProveoutError as fault:
            return replace(report, unread=fault.what)
        pairs = {
            (one.record.job or "", one.record.operation or ""): None
            for one in ledger.records
            if one.in_hand and isinstance(one.record, RevisionRecord)
        }
        several = [
            (f"{job}/{operation}", tuple(_named(one.name) for one in found))
            for job, operation in pairs
            if len(found := newest(ledger, job, operation)) > 1
        ]
        return replace(report, several=tuple(sorted(several)), timezone=ledger.shop.timezone)


def _tag(ref: str) -> str:
    return ref.removeprefix("refs/tags/")


def _named(name: str) -> str:
    """``r5-7f3a09c2``: number and own digits, as a person may name it."""
    return f"{label(name)}-{name.partition('-')[2][:8]}"
