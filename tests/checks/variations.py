"""The same program in other spellings that posts and people really write: none of them may bring a finding."""

import re
from collections.abc import Callable

_COMMENT = re.compile(r"\([^)]*\)")
_TOOL_CALL = re.compile(r"^((?:N\d+ )?)T(\d+) M6$", re.MULTILINE)
_OFFSETS = r"G5[4-9]"


def _code(text: str, change: Callable[[str], str]) -> str:
    """``change`` to everything but comments."""
    out, at = [], 0
    for match in _COMMENT.finditer(text):
        out += [change(text[at : match.start()]), match.group()]
        at = match.end()
    return "".join([*out, change(text[at:])])


def lower_case(text: str) -> str:
    return _code(text, str.lower)


def leading_zeros(text: str) -> str:
    return _code(text, lambda code: re.sub(r"\b([GMTHD])(\d)(?![\d.])", r"\g<1>0\2", code))


def no_leading_zero_before_point(text: str) -> str:
    return _code(text, lambda code: re.sub(r"([A-Z]-?)0\.(\d)", r"\1.\2", code))


def trailing_zeros(text: str) -> str:
    return _code(text, lambda code: re.sub(r"([XYZIJKRQ]-?\d*\.\d*)(?=[ \n])", r"\g<1>0", code))


def no_blanks(text: str) -> str:
    return _code(text, lambda code: code.replace(" ", ""))


def more_blanks(text: str) -> str:
    return _code(text, lambda code: re.sub(r"([A-Z])(?=[-\d.])", r"\1 ", code.replace(" ", "  ")))


def tabs(text: str) -> str:
    return _code(text, lambda code: code.replace(" ", "\t"))


def plus_signs(text: str) -> str:
    return _code(text, lambda code: re.sub(r"([XYZ])(\d)", r"\1+\2", code))


def crlf(text: str) -> str:
    return text.replace("\n", "\r\n")


def blank_lines(text: str) -> str:
    return text.replace("\n", "\n\n")


def comments_behind(text: str) -> str:
    return "\n".join(f"{line} (NOTE)" if line.strip(" %") else line for line in text.split("\n"))


def comments_before(text: str) -> str:
    return "\n".join(
        f"(NOTE) {line}" if line.strip(" %") and line[0] not in "O:%" else line for line in text.split("\n")
    )


def comments_between(text: str) -> str:
    return _code(text, lambda code: re.sub(r"(?m)^([A-Z0-9. -]+?) (?=[A-Z])", r"\1 (NOTE) ", code))


def comment_lines(text: str) -> str:
    return re.sub(r"(?m)^(?=[GTMXYZN])", "(TOOL HEIGHT FROM THE TABLE, 2 MM)\n", text)


def semicolon_comments(text: str) -> str:
    return "\n".join(
        f"{line} ; note" if line.strip(" %") and "(" not in line and line[0] not in "O:%" else line
        for line in text.split("\n")
    )


def numbered(text: str) -> str:
    lines, at = [], 10
    for line in text.split("\n"):
        if line[:1] in "GTMXYZ/" and line:
            lines.append(f"N{at} {line}" if line[0] != "/" else line)
            at += 10
        else:
            lines.append(line)
    return "\n".join(lines)


def not_numbered(text: str) -> str:
    return text if re.search(r"P\d+ Q\d+|GOTO ", text) else re.sub(r"(?m)^N\d+ ?", "", text)


def no_percent(text: str) -> str:
    return text.replace("%\n", "").removesuffix("%")


def tool_call_split(text: str) -> str:
    return _TOOL_CALL.sub(r"\1T\2\nM6", text)


def m6_first(text: str) -> str:
    return _TOOL_CALL.sub(r"\1M6 T\2", text)


def h_on_the_next_line(text: str) -> str:
    return re.sub(r"(?m)^((?:N\d+ )?)G43 (H\d+ )", r"\1G43\n\2", text)


def h_and_z_swapped(text: str) -> str:
    return re.sub(r"G43 (H\d+) (Z[-\d.]+)", r"G43 \2 \1", text)


def z_on_the_next_line(text: str) -> str:
    return re.sub(r"G43 (H\d+) (Z[-\d.]+)", r"G43 \1\n\2", text)


def offset_before_the_change(text: str) -> str:
    """``G54`` on a line of its own before the tool change, not on the line after it."""
    return re.sub(
        rf"(?m)^((?:N\d+ )?T\d+ M6\n(?:(?:N\d+ )?T\d+\n)?)(.*?) ({_OFFSETS}) ",
        r"\3\n\1\2 ",
        text,
    )


def offset_on_its_own_line(text: str) -> str:
    return re.sub(rf"(?m)^(.*) ({_OFFSETS}) (X.*)$", r"\2\n\1 \3", text)


def one_word_a_line_at_the_start(text: str) -> str:
    return re.sub(r"(?m)^((?:N\d+ )?)G0 G17 G40 (G49 )?G80 G90", r"\1G17\nG40\nG80\nG90\nG0 \2", text)


def speed_on_its_own_line(text: str) -> str:
    return re.sub(r"(?m)^(.*) (S\d+ M3)$", r"\2\n\1", text)


def home_in_machine_coordinates(text: str) -> str:
    """G53 needs no G91; on the mills here G90 follows anyway."""
    return re.sub(
        r"(?m)^((?:N\d+ )?)G91 G28 Z0\.((?:\n(?:N\d+ )?)G28 Y0\.)?",
        lambda m: f"{m[1]}G53 G0 Z0." + ("\nG53 G0 Y0." if m[2] else ""),
        text,
    )


def home_with_g30(text: str) -> str:
    return text.replace("G28", "G30")


def g91_on_its_own_line(text: str) -> str:
    return re.sub(r"(?m)^((?:N\d+ )?)G91 G28", r"\1G91\nG28", text)


def g90_only_in_the_next_tool(text: str) -> str:
    """Many posts leave G91 in force until the first block of the next tool, which states G90."""
    return re.sub(r"(G28 [ZY]0\.)\n(?:N\d+ )?G90\n(?!(?:N\d+ )?M30)", r"\1\n", text)


def m8_on_its_own_line(text: str) -> str:
    return re.sub(r"(?m)^(.*) M8$", r"\1\nM8", text)


def m3_before_the_position(text: str) -> str:
    return re.sub(r"(?m)^((?:N\d+ )?)(G0 .*) S(\d+) M3$", r"\1S\3 M3\n\2", text)


def g98_on_its_own_line(text: str) -> str:
    return text.replace("G98 G8", "G98\nG8")


def g80_with_the_retract(text: str) -> str:
    return re.sub(r"(?m)^((?:N\d+ )?)G80\n(?:N\d+ )?G0", r"\1G80 G0", text)


def m2_for_m30(text: str) -> str:
    return text.replace("M30", "M2")


def stop_after_each_tool(text: str) -> str:
    return re.sub(r"(?m)^((?:N\d+ )?M5)$", r"\1\nM1", text)


def home_at_the_start(text: str) -> str:
    return re.sub(r"(?m)^((?:N\d+ )?G0 G17 G40 G49 G80 G90)$", r"\1\nG91 G28 Z0.\nG90", text)


MEANING_THE_SAME: tuple[Callable[[str], str], ...] = (
    lower_case,
    leading_zeros,
    no_leading_zero_before_point,
    trailing_zeros,
    no_blanks,
    more_blanks,
    tabs,
    plus_signs,
    crlf,
    blank_lines,
    comments_behind,
    comments_before,
    comments_between,
    comment_lines,
    semicolon_comments,
    numbered,
    not_numbered,
    no_percent,
    tool_call_split,
    m6_first,
    h_on_the_next_line,
    h_and_z_swapped,
    z_on_the_next_line,
    offset_before_the_change,
    offset_on_its_own_line,
    one_word_a_line_at_the_start,
    speed_on_its_own_line,
    home_in_machine_coordinates,
    home_with_g30,
    g91_on_its_own_line,
    g90_only_in_the_next_tool,
    m8_on_its_own_line,
    m3_before_the_position,
    g98_on_its_own_line,
    g80_with_the_retract,
    m2_for_m30,
    stop_after_each_tool,
    home_at_the_start,
)
