"""The shape of every answer in JSON: the one place it is written down; the tests hold real answers against it.

A shape lists keys in their order. ``key[a b]`` is a list of objects with the keys a and b, ``key{a b}`` an object or null,
``key?`` a key that is not always there, ``*`` whatever a record holds; a word in capitals stands for a part of `PARTS`.
Every answer opens with ``schema``. Keys are added, never renamed or given another meaning.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field

PARTS: Mapping[str, str] = {
    "ACTED": "said event job operation revision machine by entered_by reason at records[*] "
    "standings[revision machine standing reason clears] notes signed",
    "CHANGE": "kind file tool old{line text} new{line text} words?",
    "EFFECT": "file old{SUMMARY} new{SUMMARY}",
    "EVENT": "at event job operation revision machine by kinds reason record signed words? entered_by?",
    "FILE": "path name number raw_sha256 fingerprint dialect",
    "FINDING": "rule severity machine file line tool message remedy waived_by reason?",
    "ORIGIN": "revision kinds sections slower?",
    "SHARE": "at says",
    "SUMMARY": "units tools[TOOL] cutting_length rapid_length cutting_minutes not_followed dwell_minutes lathe order stops "
    "calls[program times] offsets_written blocks guesses file? of? machine? id?",
    "TOOL": "tool description h d offsets rpm_max feed_max x y z deepest_cut cutting_length rapid_length cutting_minutes "
    "rpm_min feed_min feed_mode lowest_rapid holes sections line number",
    "UNCOMPUTED": "rule why operation machine file line",
}
_ACTED = "ACTED"
SHAPES: Mapping[str, str] = {
    "adopt": "folders counts{*} rows[take job operation file to machine number units id remarks proof_words prior_by prior_evidence "
    "last_run sha256] plan",
    "audit": "problems?[problem severity where message] checked?{commits programs records releases} not_asked? list? columns? "
    "rows?[*]",
    "backup": "at file sha256 bytes references words",
    "checkin": "revisions?[job operation revision record id operation_fingerprint kinds origins[ORIGIN] findings[FINDING] "
    "not_computed[UNCOMPUTED] notes programs] unchanged? only_text? problems dry_run? signed? "
    "changed?[job operation state files] shop_changed?",
    "collect": "files[file verdict job operation revision kinds message unreleased?] stick notes record summary decisions signed",
    "compare": "same_code kinds changes[CHANGE] effect[EFFECT] notes?",
    "countersign": _ACTED,
    "doctor": "folder points[point state says fix advice]",
    "explain": "pages[name sort means put_right]",
    "export": "machine stick owner folder purpose dry_run operations[job operation revision release id standing reason notes] "
    "files[file action program job operation revision release id used_by sha256 notes unreleased not_in_text] papers left_out call_in leaves unknown? stays?[file job operation revision unreleased until reason] outside?{copies[file reason] more_copies unknown more_unknown not_looked_into} "
    "summary decisions notes at until record cautions signed last_share{SHARE}",
    "fingerprint": "files[file fingerprint raw_sha256 bytes blocks dialect rule_version notes]",
    "gate": "opens? lines?",
    "history": "events?[EVENT] day? commit? people?[initials name email listed roles since left keys] on? "
    "operations?[job operation revision machine standing reason released] file? line? block? "
    "origins?[job operation revision before by at reason line through proofs[revision machine by at record tools on_paper]]",
    "hold": _ACTED,
    "identify": "machine files[file identity job operation revision id program same_bytes kinds newer release may_run reason also "
    "programs sha256 dialect]",
    "init": "folder written kept others people notes",
    "install": "folder server guard undone actions[what state where] notes",
    "lift": _ACTED,
    "measured": _ACTED,
    "new": "job job_file added written operations[operation program machines units offsets tools[number description h d offset "
    "called listed{*}] notes] open left_out",
    "prove": "job operation revision id machine result by at tools lacks standing reason clears record{*} findings[FINDING] notes "
    "signed",
    "ran": _ACTED,
    "release": "job number tag commit record by dry_run taken_up operations[operation revision "
    "machines[machine standing reason]] not_included notes signed? last_share{SHARE}",
    "report": "job title operations[operation revision id released standings[machine standing reason] against{revision why} "
    "compared{same_code kinds changes[CHANGE] effect[EFFECT]} paths[side file why_not feed rapid points not_followed] "
    "events[EVENT] evidence[what file state sha256 fingerprint] notes problem] deviations at written",
    "review": _ACTED,
    "share": "remote address branch complete received sent pushes merge tags_received tags_sent both_changed several_newest "
    "tag_notes branches_received[branch changes] only_here[branch records] stops_sent stops_not_sent unread dry_run",
    "sheet": "job operation revision id machine standing reason clears released part name drawing drawing_revision material units "
    "fixture clearance_z max_rpm programs[file number id] offsets[code origin] tools[tool called on_sheet description diameter "
    "stick_out h d offset insert nose_radius large through_coolant flute_length length weight lowest_z "
    "deepest{value bound why} left{value bound why} restarts[line number] disagreements] "
    "since{revision machine by at itself kinds tools words why} list steps[step title required] findings[FINDING] "
    "signed remarks cautions at",
    "show": "job operation revision newest record record_sha256 id operation_fingerprint sheet_fingerprint rule_version strict at "
    "entered by entered_by reason post files[FILE] lost origins[ORIGIN] checks_version findings[FINDING] waivers outside signed "
    "proofs[record machine by at result cause tools first_piece{report by result} measured limits countersigned struck signed] "
    "reviews standings[machine standing reason]",
    "status": "operations[job operation revision machine standing reason released may_run next signed] at last_share{SHARE} "
    "edited? left_out? problems? unreadable? deviations?[*]",
    "strike": _ACTED,
    "summary": "SUMMARY",
    "verify": "findings?[rule severity operation machine file line tool message remedy waived] not_computed?[UNCOMPUTED] "
    "rules?[rule family severity machines what source]",
    "where": "job? operation? revision? machines? sticks? places?[what at machine stick files job operation revision "
    "same_text part words by record struck] limit asked? runs?[*] gaps? nearest?[*] uses?[job operation revision path? main? fingerprint? machine? proven? "
    "proven_at? proven_by? on_paper? proven_fingerprint? same_code? machines? tool? description?]",
    "withdraw": "job number commit record format event at entered by reason clock? operations[operation revision "
    "operation_fingerprint machines] sticks were_on machines signed",
    "witness": "at source line references followed findings releases records",
}
ERROR = "error{name message where fix reasons?}"
NO_JSON = frozenset({"normalize", "demo"})
"""Verbs that answer with something else: a program, a folder."""


@dataclass(slots=True)
class Shape:
    """The keys of an object; ``free``: whatever stands there is right."""

    keys: "dict[str, Key]" = field(default_factory=dict)
    free: bool = False


@dataclass(slots=True)
class Key:
    """What stands under a key: a plain value (``of`` is None), an object or null, or a list of objects."""

    of: Shape | None = None
    many: bool = False
    optional: bool = False


def shape(text: str) -> Shape:
    """A shape as written above, taken apart. Raises ValueError where it is not well formed."""
    found, end = _shape(_words(text), 0)
    if end != len(_words(text)):
        raise ValueError(f"a bracket too many in {text!r}")
    return found


def _words(text: str) -> list[str]:
    for mark in "[]{}?":
        text = text.replace(mark, f" {mark} ")
    return text.split()


def _shape(words: list[str], at: int) -> tuple[Shape, int]:
    found, last = Shape(), Key()
    while at < len(words) and words[at] not in "]}":
        word = words[at]
        if word == "?":
            last.optional = True
        elif word in "[{":
            last.of, at = _shape(words, at + 1)
            last.many = word == "["
            if at >= len(words) or words[at] != ("]" if last.many else "}"):
                raise ValueError(f"a bracket is not closed: {' '.join(words)}")
        elif word == "*":
            found.free = True
        elif word in PARTS:
            found.keys |= shape(PARTS[word]).keys
        else:
            last = found.keys[word] = Key()
        at += 1
    return found, at
