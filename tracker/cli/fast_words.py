"""The words of a call, read by hand: an option parser costs more time to import than the quick verbs take to run."""

from collections.abc import Iterator

from tracker.errors import BadCall

FLAGS_BEFORE_VERB = frozenset({"--no-color", "--yes", "--json"})

Options = dict[str, str | bool]


def verb_of(words: list[str], *, key: bool = False) -> tuple[str, int]:
    """The verb of a call and the place it stands at, past the options that may precede it; ("", -1) if none does.

    ``key``: look past ``--key FILE`` too; the quick verbs sign nothing and do not know it.
    """
    at = 0
    while at < len(words):
        word = words[at]
        if word == "-C" or (key and word == "--key"):
            at += 2
        elif word in FLAGS_BEFORE_VERB or (key and word.startswith("--key=")):
            at += 1
        else:
            return ("", -1) if word.startswith("-") else (word, at)
    return "", -1


def read_options(
    words: list[str], flags: dict[str, str], values: dict[str, str]
) -> tuple[Options, list[str]]:
    """Sort the words of a call into options and operands.

    Args:
        words: what stood after the verb.
        flags: every spelling of an option without a value, and the name it goes by.
        values: the same for options that take a value (``-o FILE``, ``--output FILE``, ``--output=FILE``).

    Returns:
        The options by name, and the operands in order. ``--`` ends the options; ``-`` is an operand.

    Raises:
        BadCall: an unknown option, or one whose value is missing.
    """
    options: Options = {}
    operands: list[str] = []
    waiting = iter(words)
    for word in waiting:
        spelling, equals, value = word.partition("=")
        if word == "--":
            operands.extend(waiting)
        elif not word.startswith("-") or word == "-":
            operands.append(word)
        elif word in flags:
            options[flags[word]] = True
        elif spelling in values and (equals or spelling == word):
            options[values[spelling]] = value if equals else value_after(word, waiting)
        else:
            raise BadCall("unknown-option", f"There is no option {word} here.", fix="See proveout --help.")
    return options, operands


def value_after(word: str, waiting: Iterator[str]) -> str:
    """The value of the option ``word``: what stands next.

    Raises:
        BadCall: nothing does.
    """
    value = next(waiting, None)
    if value is None:
        raise BadCall("missing-value", f"{word} needs a value after it.", fix="See proveout --help.")
    return value
