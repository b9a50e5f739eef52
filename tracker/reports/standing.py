"""A standing in words for a screen."""


def standing_words(state: str, reason: str) -> str:
    """``PROVEN by ss 4 Feb 2026``: the state in capitals, once, then its reason."""
    rest = reason.removeprefix(state).lstrip(" :-")
    joint = " " if reason.startswith(f"{state} ") else ": "
    return f"{state.upper()}{joint if rest else ''}{rest}"
