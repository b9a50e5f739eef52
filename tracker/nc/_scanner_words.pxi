"""One line that needs no care: its words, its number, its comments (part of `tracker.nc._scanner`)."""

from tracker.nc import number as spelling
from tracker.nc.codes import LONG_L, SIMPLE_G, SIMPLE_M

ctypedef unsigned char u8

cdef enum:
    DECIMAL = 1     # trailing zeros after a point go
    DIMENSION = 2   # leading zeros stay where there is no point
    UNSIGNED = 4    # a plus and the sign of zero go
    HEAD = 12       # letters of a comment that say whether it acts
    MOST_COMMENTS = 8
    MOST_DIGITS = 9
    CODES = 1024    # codes are looked up as ten times their whole part and one digit after the point

cdef enum:
    ODD = -1
    BLANK = 0
    BLOCK = 1
    PERCENT = 2

cdef struct Line:
    const u8* number_from   # the N word as written, or NULL
    const u8* number_to
    unsigned int value      # of the N word
    bint opens_scope
    int comments
    const u8* opened[MOST_COMMENTS]
    const u8* closed[MOST_COMMENTS]

cdef u8 KIND[256]
cdef Py_ssize_t long_l = LONG_L
cdef u8 G_CODES[CODES]
cdef u8 M_CODES[CODES]


cdef int code_at(bytes text) except -2:
    """Where a code stands in the tables, or -1 for one that they cannot hold."""
    whole, point, rest = text.partition(b".")
    if len(whole) > 2 or len(rest) > 1 or (point and not rest) or text != b"%d" % int(whole) + point + rest:
        return -1
    return int(whole) * 10 + (int(rest) if rest else 0)


cdef void fill_tables() except *:
    cdef int c, at
    for c in range(256):
        name = chr(c)
        KIND[c] = (
            DECIMAL * (name in spelling.DECIMAL)
            | DIMENSION * (name in spelling.DIMENSION)
            | UNSIGNED * (name in spelling.UNSIGNED)
        )
    for at in range(CODES):
        G_CODES[at] = M_CODES[at] = 0
    # A code with a ".0" is not in the lists and must not be taken for one without: the tables have no place for it.
    for name in SIMPLE_G:
        at = code_at(name.encode())
        if at >= 0 and not name.endswith(".0"):
            G_CODES[at] = 1
    for name in SIMPLE_M:
        at = code_at(name.encode())
        if at >= 0 and not name.endswith(".0"):
            M_CODES[at] = 1


fill_tables()


cdef inline bint is_digit(u8 c) noexcept nogil:
    return 48 <= c <= 57


cdef inline const u8* blanks(const u8* p, const u8* end) noexcept nogil:
    while p < end and (p[0] == 32 or p[0] == 9):
        p += 1
    return p


cdef u8* without_zeros(u8* digits, u8* to) noexcept nogil:
    """Take leading zeros off the digits that end at ``to``, down to one digit; the new end."""
    cdef u8* q = digits
    while to - q > 1 and q[0] == 48:
        q += 1
    if q == digits:
        return to
    while q < to:
        digits[0] = q[0]
        digits += 1
        q += 1
    return digits


cdef inline const u8* put_decimal(u8 kind, const u8* p, const u8* end, u8** to) noexcept nogil:
    """Write the number of a decimal letter; NULL if none stands here, else its end."""
    cdef u8* o = to[0]
    cdef u8* digits
    cdef const u8* start
    cdef u8 sign = 0
    cdef u8 any = 0
    cdef bint whole
    if p < end and (p[0] == 43 or p[0] == 45):
        sign = p[0]
        o[0] = sign
        o += 1
        p += 1
    digits = o
    start = p
    while p < end and is_digit(p[0]):
        any |= p[0] & 15
        o[0] = p[0]
        o += 1
        p += 1
    whole = p > start
    if p < end and p[0] == 46:
        if not whole:
            o[0] = 48
            o += 1
        elif digits[0] == 48 and o - digits > 1:
            o = without_zeros(digits, o)
        o[0] = 46
        o += 1
        p += 1
        start = p
        while p < end and is_digit(p[0]):
            any |= p[0] & 15
            o[0] = p[0]
            o += 1
            p += 1
        if not whole and p == start:
            return NULL
        while (o - 1)[0] == 48:  # the point stops it
            o -= 1
    elif not whole:
        return NULL
    elif digits[0] == 48 and o - digits > 1 and not (kind & DIMENSION and any):
        o = without_zeros(digits, o)
    if sign and kind & UNSIGNED and (sign == 43 or not any):
        while digits < o:
            (digits - 1)[0] = digits[0]
            digits += 1
        o -= 1
    to[0] = o
    return p


cdef inline const u8* put_number(u8 letter, const u8* p, const u8* end, u8** to) noexcept nogil:
    """Write a number as `tracker.nc.number.of_letter` spells it; NULL if none stands here, else its end."""
    cdef u8 kind = KIND[letter]
    cdef u8* o = to[0]
    cdef u8* digits
    cdef const u8* start
    cdef bint whole
    cdef bint sign = False
    if kind & DECIMAL:
        return put_decimal(kind, p, end, to)
    if p < end and (p[0] == 43 or p[0] == 45):
        sign = True
        o[0] = p[0]
        o += 1
        p += 1
    digits = o
    start = p
    while p < end and is_digit(p[0]):
        o[0] = p[0]
        o += 1
        p += 1
    whole = p > start
    if p < end and p[0] == 46:
        if letter != 84 and o - digits > 1:  # T
            o = without_zeros(digits, o)
        o[0] = 46
        o += 1
        p += 1
        start = p
        while p < end and is_digit(p[0]):
            o[0] = p[0]
            o += 1
            p += 1
        if not whole and p == start:
            return NULL
    elif not whole:
        return NULL
    elif letter != 84 or (not sign and o - digits <= 2):
        o = without_zeros(digits, o)
    to[0] = o
    return p


cdef inline bint is_signed(const u8* p, const u8* end) noexcept nogil:
    """Whether a sign and a number stand here."""
    return (p[0] == 43 or p[0] == 45) and end - p > 1 and (is_digit(p[1]) or p[1] == 46)


cdef inline int code_of(const u8* p, const u8* end) noexcept nogil:
    """A spelled code of one or two digits as a number, or -1."""
    if end - p == 1:
        return p[0] - 48 if is_digit(p[0]) else -1
    if end - p == 2 and is_digit(p[0]) and is_digit(p[1]):
        return (p[0] - 48) * 10 + p[1] - 48
    return -1


cdef inline bint known_code(const u8* table, const u8* p, const u8* end) noexcept nogil:
    """Whether a spelled code is one that a simple line may hold; any doubt is a no."""
    cdef int at = 0
    cdef const u8* start = p
    while p < end and is_digit(p[0]):
        at = at * 10 + p[0] - 48
        p += 1
    if p == start or p - start > 2:
        return False
    at *= 10
    if p < end:
        if p[0] != 46 or end - p != 2 or p[1] == 48:
            return False
        at += p[1] - 48
    return table[at] == 1


cdef int quick_line(const u8* p, const u8* end, u8** to, Line* line) noexcept nogil:
    """Read one line and write its words; ODD if it is for the reference, and then nothing counts as written."""
    cdef u8* o = to[0]
    cdef u8* number_at
    cdef const u8* q
    cdef u8 c
    cdef bint stops = False
    cdef bint words = False
    cdef bint macro = False
    cdef bint beyond = False  # code behind a comment
    cdef unsigned int value
    line.number_from = line.number_to = NULL
    line.opens_scope = False
    line.comments = 0
    while True:
        p = blanks(p, end)
        if p == end:
            break
        c = p[0]
        if c == 40:
            q = <const u8*>memchr(p, 41, end - p)
            if q == NULL or line.comments == MOST_COMMENTS or not is_wording(p + 1, q):
                return ODD
            line.opened[line.comments] = p
            line.closed[line.comments] = q + 1
            line.comments += 1
            p = q + 1
            continue
        if c == 59:
            if line.comments == MOST_COMMENTS or not is_remark(p + 1, end):
                return ODD
            line.opened[line.comments] = p
            line.closed[line.comments] = p = end
            line.comments += 1
            break
        beyond |= line.comments > 0
        if 97 <= c <= 122:
            c -= 32
        if c == 35:
            p = put_assignment(p, end, &o)
            if p == NULL:
                return ODD
            words = macro = True
            continue
        if c < 65 or c > 90:
            return PERCENT if c == 37 and not words and line.number_from == NULL and line.comments == 0 \
                and blanks(p + 1, end) == end else ODD
        q = p
        p = blanks(p + 1, end)
        if c == 78:  # N
            if words or line.number_from != NULL:
                return ODD
            line.number_from = q
            q = p
            value = 0
            while p < end and is_digit(p[0]):
                value = value * 10 + (p[0] - 48)
                p += 1
            if p == q or p - q > MOST_DIGITS or (p < end and p[0] == 46):
                return ODD
            line.number_to = p
            line.value = value
            continue
        if c == 79:  # O
            if words or p == end or not is_digit(p[0]):
                return ODD
            line.opens_scope = True
        o[0] = c
        o += 1
        number_at = o
        if c != 71 and c != 77 and c != 79 and p < end and not is_digit(p[0]) and p[0] != 46 and not is_signed(p, end):
            macro = words = True
            if p == q + 1 and opens_statement(q, end):
                o -= 1
                p = put_statement(q, end, &o)
            else:
                p = put_value(p, end, &o)
            if p == NULL:
                return ODD
            continue
        q = p
        p = put_number(c, p, end, &o)
        if p == NULL:
            return ODD
        words = True
        if c == 71:
            if not known_code(G_CODES, number_at, o):
                return ODD
        elif c == 77:
            if not known_code(M_CODES, number_at, o):
                return ODD
            if o - number_at == 1:
                stops |= number_at[0] == 48 or number_at[0] == 49
            elif number_at[0] == 54 and number_at[1] == 48:
                stops = True
        elif c == 76:  # L
            if o - number_at >= long_l or (q + 1 < p and q[0] == 48):
                return ODD
            q = blanks(p, end)
            if q < end and q[0] == 40:
                return ODD
        elif c == 79 and memchr(number_at, 46, o - number_at) != NULL:
            return ODD
    if (stops and line.comments) or (macro and (beyond or line.opens_scope)):
        return ODD
    to[0] = o
    return BLOCK if words else BLANK


include "_scanner_comments.pxi"
include "_scanner_macro.pxi"
