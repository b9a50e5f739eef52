"""The typer application, built from the one verb a call names.

Loading all verbs takes several times as long as running one, so only the module of the verb on the command line is
imported; ``--help`` and completion load them all. `VERBS` is the list of everything the program can do, by who uses
it.
"""

import difflib
import gc
import importlib
from collections.abc import Iterator, Sequence
from typing import Annotated, Any

import typer
from typer.core import TyperGroup

from tracker.cli.frame import Frame
from tracker.cli.verbs import VERBS, Verb
from tracker.errors import BadCall, Exit

_FLAGS = {
    "--json",
    "--yes",
    "--no-color",
    "--dry-run",
    "-n",
    "-q",
    "--quiet",
    "--all",
    "--accept",
    "--reject",
    "--again",
    "--continue",
    "--exit-code",
    "--list",
    "--cut",
    "--not-cut",
}

_SELDOM = (50_000, 20, 20)
"""When rubbish is looked for: imports and records make many things that stay, and going through them again and again is
time of a long call that finds next to nothing."""

_VALUED = {"-C", "--key"}
"""Options of every verb that a value follows."""


def _root(
    ctx: typer.Context,
    folder: Annotated[str, typer.Option("-C", metavar="DIR", help="Act as if started in DIR.")] = ".",
    no_color: Annotated[bool, typer.Option("--no-color", help="No colour.")] = False,
    json: Annotated[bool, typer.Option("--json", help="Answer as one JSON object.")] = False,
    yes: Annotated[bool, typer.Option("--yes", help="Do not ask, do it.")] = False,
    quiet: Annotated[bool, typer.Option("-q", "--quiet", help="Only the answer.")] = False,
    key: Annotated[
        str | None,
        typer.Option(
            "--key", metavar="FILE", help="SSH key that signs what is recorded; none: leave unsigned."
        ),
    ] = None,
    _version: Annotated[bool, typer.Option("--version", help="Show the version.")] = False,
) -> None:
    ctx.obj = Frame(folder=folder, no_color=no_color, json=json, yes=yes, quiet=quiet, key=key)


class GroupedHelp(TyperGroup):
    """Help that lists the verbs by who uses them, in plain ASCII (a cp1252 console has no box characters)."""

    def format_commands(self, ctx: Any, formatter: Any) -> None:  # noqa: ANN401, ARG002 - the library's own types
        """Write a section per user, in the order of `VERBS`."""
        for who in dict.fromkeys(verb.who for verb in VERBS):
            rows = [(verb.name, verb.help) for verb in VERBS if verb.who == who]
            with formatter.section(who):
                formatter.write_dl(rows)


def build(only: str | None = None) -> typer.Typer:
    """The application with one verb, or with all of them."""
    app = typer.Typer(
        cls=GroupedHelp,
        name="proveout",
        help="Which program text was proven, by whom, on which machine - and the gate that holds back the rest.",
        rich_markup_mode=None,
        pretty_exceptions_enable=False,
        context_settings={"help_option_names": ["-h", "--help"]},
    )
    app.callback()(_root)
    for verb in VERBS:
        if only is None or verb.name == only:
            _add(app, verb)
    return app


def _add(app: typer.Typer, verb: Verb) -> None:
    module = importlib.import_module(f"tracker.cli.{verb.module}")
    app.command(name=verb.name, help=verb.help, rich_help_panel=verb.who)(module.command)


def first_word(argv: Sequence[str]) -> str | None:
    """The word that stands where the verb belongs, or None when there is none."""
    skip = False
    for word in argv:
        if skip:
            skip = False
        elif word in _VALUED:
            skip = True
        elif not word.startswith("-"):
            return word
    return None


def named_verb(argv: Sequence[str]) -> str | None:
    """The verb of a command line, None when there is none; raises BadCall (``unknown-command``) with the nearest."""
    word = first_word(argv)
    names = [verb.name for verb in VERBS]
    if word is None or word in names:
        return word
    near = difflib.get_close_matches(word, names, n=2, cutoff=0.5)
    fix = (
        f"perhaps {' or '.join(near)}; proveout --help lists them all"
        if near
        else "proveout --help lists them all"
    )
    raise BadCall("unknown-command", f"there is no command {word!r}", fix=fix)


def globals_first(argv: Sequence[str]) -> list[str]:
    """The same call with ``-C DIR``, ``--key FILE`` and ``--no-color`` moved before the verb, where they are declared."""
    front: list[str] = []
    rest: list[str] = []
    words = iter(argv)
    before = ""
    for word in words:
        is_value = before.startswith("-") and before not in _FLAGS and "=" not in before
        if word == "--":
            rest += [word, *words]
            break
        if word == "--no-color" and not is_value:
            front.append(word)
        elif word in _VALUED and not is_value:
            front += [word, _value(word, words)]
        elif word.startswith("--key=") and not is_value:
            front.append(word)
        else:
            rest.append(word)
            before = word
            continue
        before = ""
    return front + rest


def _value(option: str, words: Iterator[str]) -> str:
    """What stands behind an option; the folder in hand where ``-C`` stands last."""
    found = next(words, "." if option == "-C" else None)
    if found is None:
        raise BadCall("wrong-call", f"{option} names nothing", fix=f"write what is meant behind {option}")
    return found


def run(argv: Sequence[str]) -> int:
    """Run one call; returns its exit status. Errors of ours pass through to the one error boundary."""
    gc.set_threshold(*_SELDOM)
    words = globals_first(argv) or ["--help"]
    completing = any(word.startswith(("--install-completion", "--show-completion")) for word in words)
    app = build(None if completing else named_verb(words))
    result = app(args=words, prog_name="proveout", standalone_mode=False)
    if result == Exit.INTERRUPTED:  # what the option parser makes of Ctrl-C; the boundary has the word for it
        raise KeyboardInterrupt
    return int(result) if isinstance(result, int) else 0
