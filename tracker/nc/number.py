"""How a number is written: zeros and signs that say nothing go, all else stays. Digits never pass through a float.

Rules, in this order:

1. ``T``: a whole number of one or two digits loses leading zeros; anything else is kept to the letter (``T0101``).
2. A number with a point on a *decimal letter* (X Y Z A B C U V W I J K R P Q F E S and ,C ,R ,A): leading zeros go
   down to one digit, a missing digit before the point becomes 0, trailing zeros after the point go, the point stays:
   ``X.5``, ``X0.5``, ``X00.500`` are ``X0.5``; ``X1.``, ``X1.0`` are ``X1.``.
3. A number with a point on any other letter: leading zeros go down to one digit, a missing one stays missing
   (``G00.1`` is ``G0.1`` and not ``G.1``), what follows the point is kept (``G54.10`` is not ``G54.1``).
4. A number without a point: leading zeros go down to one digit, but on a *dimension letter* (the decimal letters
   but P and S) only when it is nothing but zeros: where trailing zeros are left out, ``X01`` and ``X1`` are
   different lengths (ISO 6983-1 has both formats). Nothing is ever padded or cut at the end: ``X10`` is not ``X1``.
5. A leading ``+`` goes on X Y Z I J K; so does either sign of zero. On every other letter signs stay.
6. Inside ``[ ]`` a number has no sign of its own: leading zeros go down to one digit, a missing digit before the
   point becomes 0, trailing zeros after the point go. Outside ``[ ]``, right of an equals sign, after ``#``, GOTO,
   DO and END: leading zeros go down to one digit, the rest stays.
"""

DECIMAL = frozenset({*"XYZABCUVWIJKRPQFES", ",C", ",R", ",A"})
DIMENSION = DECIMAL - {"P", "S"}
UNSIGNED = frozenset("XYZIJK")


def of_letter(letter: str, sign: str, digits: str) -> str:
    """The number of a word as it is written in the canonical form.

    Args:
        letter: the letter, upper case; ``,C`` and the like for words with a comma.
        sign: ``+``, ``-`` or nothing.
        digits: unsigned number with at least one digit and at most one point.
    """
    if letter == "T":
        plain = not sign and digits.isdigit() and len(digits) <= 2
        return (digits.lstrip("0") or "0") if plain else sign + digits
    whole, point, rest = digits.partition(".")
    if letter in DECIMAL and point:
        whole, rest = whole.lstrip("0") or "0", rest.rstrip("0")
    elif whole and not (letter in DIMENSION and not point and whole.strip("0")):
        whole = whole.lstrip("0") or "0"
    if letter in UNSIGNED and (sign == "+" or not (whole + rest).strip("0")):
        sign = ""
    return sign + whole + point + rest


def in_brackets(digits: str) -> str:
    """An unsigned number inside ``[ ]``."""
    whole, point, rest = digits.partition(".")
    return (whole.lstrip("0") or "0") + point + rest.rstrip("0")


def bare(digits: str) -> str:
    """An unsigned number outside ``[ ]`` that belongs to no letter."""
    whole, point, rest = digits.partition(".")
    return (whole and (whole.lstrip("0") or "0")) + point + rest
