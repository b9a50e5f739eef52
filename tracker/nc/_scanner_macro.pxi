"""Variables, expressions and the statements that name no label (part of `tracker.nc._scanner`).

The grammar is that of `tracker.nc.block`. What may read a line number, speak to the operator or jump is no case for
this module: a computed or named variable, #4114 and its like, #3000, #3006, GOTO, output statements. Every function
gives the end of what it read, or NULL where the line is for the reference.
"""

from tracker.nc import block as grammar

cdef enum:
    MOST_FUNCTIONS = 32
    LONGEST_NAME = 8

cdef int DEEPEST = grammar.DEEPEST
cdef int functions = 0
cdef char FUNCTIONS[MOST_FUNCTIONS][LONGEST_NAME]
cdef Py_ssize_t FUNCTION_SIZES[MOST_FUNCTIONS]


cdef void fill_functions() except *:
    global functions
    cdef const char* text
    if len(grammar.FUNCTIONS) > MOST_FUNCTIONS:
        raise ValueError("more functions than there is room for")
    for name in grammar.FUNCTIONS:
        written = name.encode("ascii")
        if len(written) > LONGEST_NAME:
            raise ValueError("a function with too long a name")
        text = written
        memcpy(FUNCTIONS[functions], text, len(written))
        FUNCTION_SIZES[functions] = len(written)
        functions += 1


fill_functions()


cdef inline u8 upper(u8 c) noexcept nogil:
    return c - 32 if 97 <= c <= 122 else c


cdef inline bint reads(const u8* p, const u8* end, const char* word, Py_ssize_t size) noexcept nogil:
    """Whether a word stands here, in either case."""
    cdef Py_ssize_t i
    if end - p < size:
        return False
    for i in range(size):
        if upper(p[i]) != <u8>word[i]:
            return False
    return True


cdef inline void put_text(const char* text, Py_ssize_t size, u8** to) noexcept nogil:
    memcpy(to[0], text, size)
    to[0] += size


cdef const u8* put_bare(const u8* p, const u8* end, bint in_brackets, u8** to) noexcept nogil:
    """Write an unsigned number as `tracker.nc.number.bare` or ``in_brackets`` spells it."""
    cdef u8* o = to[0]
    cdef u8* digits = o
    cdef const u8* start = p
    cdef bint whole
    while p < end and is_digit(p[0]):
        o[0] = p[0]
        o += 1
        p += 1
    whole = p > start
    if whole:
        o = without_zeros(digits, o)
    if p < end and p[0] == 46:
        if not whole and (p + 1 == end or not is_digit(p[1])):
            return NULL
        if not whole and in_brackets:
            o[0] = 48
            o += 1
        o[0] = 46
        o += 1
        p += 1
        while p < end and is_digit(p[0]):
            o[0] = p[0]
            o += 1
            p += 1
        if in_brackets:
            while (o - 1)[0] == 48:  # the point stops it
                o -= 1
    elif not whole:
        return NULL
    to[0] = o
    return p


cdef const u8* put_variable(const u8* p, const u8* end, bint target, u8** to) noexcept nogil:
    """Write ``#`` and a number."""
    cdef u8* o = to[0]
    cdef u8* index
    o[0] = 35
    o += 1
    index = o
    p = blanks(p + 1, end)
    if p == end or not is_digit(p[0]):
        return NULL
    p = put_bare(p, end, False, &o)
    if o - index >= 4 and (o - index == 4 or index[4] == 46):
        if index[0] == 52 and index[2] == 49 and index[3] == 52:  # #4x14
            return NULL
        if target and index[0] == 51 and index[1] == 48 and index[2] == 48:  # #300x
            return NULL
    to[0] = o
    return p


cdef const u8* put_operator(const u8* p, const u8* end, u8** to) noexcept nogil:
    """Write an operator; NULL where none stands."""
    cdef u8 c, d
    cdef int size
    if p == end:
        return NULL
    c = upper(p[0])
    if c == 42 or c == 43 or c == 45 or c == 47:
        size = 2 if c == 42 and p + 1 < end and p[1] == 42 else 1
        memcpy(to[0], p, size)
        to[0] += size
        return p + size
    if reads(p, end, b"MOD", 3) or reads(p, end, b"AND", 3) or reads(p, end, b"XOR", 3):
        size = 3
    else:
        d = upper(p[1]) if p + 1 < end else 0
        if not (
            (c == 79 and d == 82) or (c == 69 and d == 81) or (c == 78 and d == 69)  # OR EQ NE
            or ((c == 71 or c == 76) and (d == 84 or d == 69))  # GT GE LT LE
        ):
            return NULL
        size = 2
    while size:
        to[0][0] = upper(p[0])
        to[0] += 1
        p += 1
        size -= 1
    return p


cdef const u8* put_expression(const u8* p, const u8* end, int depth, u8** to) noexcept nogil:
    """Write operands and operators in turn, as far as they go; the blanks behind them are read too."""
    cdef const u8* q
    while True:
        while p < end and (p[0] == 43 or p[0] == 45):
            to[0][0] = p[0]
            to[0] += 1
            p += 1
            if depth:
                p = blanks(p, end)
        p = put_operand(p, end, depth, to)
        if p == NULL:
            return NULL
        p = blanks(p, end)
        q = put_operator(p, end, to)
        if q == NULL:
            if not depth or p == end or p[0] != 44:
                return p
            to[0][0] = 44
            to[0] += 1
            q = p + 1
        p = blanks(q, end)


cdef const u8* put_bracketed(const u8* p, const u8* end, int depth, u8** to) noexcept nogil:
    """Write ``[ ]`` with what stands in it."""
    to[0][0] = 91
    to[0] += 1
    p = put_expression(blanks(p + 1, end), end, depth + 1, to)
    if p == NULL or p == end or p[0] != 93:
        return NULL
    to[0][0] = 93
    to[0] += 1
    return p + 1


cdef const u8* put_operand(const u8* p, const u8* end, int depth, u8** to) noexcept nogil:
    """Write a number, a variable, ``[ ]`` or a function of it."""
    cdef const u8* q
    cdef int i
    cdef bint atan
    if depth > DEEPEST or p == end:
        return NULL
    if is_digit(p[0]) or p[0] == 46:
        return put_bare(p, end, depth > 0, to)
    if p[0] == 35:
        return put_variable(p, end, False, to)
    if p[0] == 91:
        return put_bracketed(p, end, depth, to)
    for i in range(functions):
        if not reads(p, end, FUNCTIONS[i], FUNCTION_SIZES[i]):
            continue
        q = blanks(p + FUNCTION_SIZES[i], end)
        if q == end or q[0] != 91:
            continue
        atan = reads(p, end, b"ATAN", 4)
        put_text(FUNCTIONS[i], FUNCTION_SIZES[i], to)
        p = put_bracketed(q, end, depth, to)
        if p == NULL or not atan:
            return p
        q = blanks(p, end)
        if q < end and q[0] == 47:
            q = blanks(q + 1, end)
            if q < end and q[0] == 91:
                to[0][0] = 47
                to[0] += 1
                return put_bracketed(q, end, depth, to)
        return p
    return NULL


cdef const u8* put_value(const u8* p, const u8* end, u8** to) noexcept nogil:
    """Write the value of a letter that is no plain number: a sign, and a variable or what else is reckoned."""
    if p < end and (p[0] == 43 or p[0] == 45):
        to[0][0] = p[0]
        to[0] += 1
        p += 1
    if p == end or is_digit(p[0]) or p[0] == 46:
        return NULL
    return put_operand(p, end, 0, to)


cdef const u8* put_assignment(const u8* p, const u8* end, u8** to) noexcept nogil:
    """Write a variable, an equals sign and what it is to hold."""
    p = put_variable(p, end, True, to)
    if p == NULL:
        return NULL
    p = blanks(p, end)
    if p == end or p[0] != 61:
        return NULL
    to[0][0] = 61
    to[0] += 1
    return put_expression(blanks(p + 1, end), end, 0, to)


cdef const u8* put_statement(const u8* p, const u8* end, u8** to) noexcept nogil:
    """Write IF, WHILE, DO, END, THEN, ELSE or ENDIF with what belongs to it; NULL for anything else."""
    if reads(p, end, b"IF", 2):
        put_text(b"IF", 2, to)
        return put_expression(blanks(p + 2, end), end, 0, to)
    if reads(p, end, b"WHILE", 5):
        put_text(b"WHILE", 5, to)
        return put_expression(blanks(p + 5, end), end, 0, to)
    if reads(p, end, b"THEN", 4):
        put_text(b"THEN", 4, to)
        return p + 4
    if reads(p, end, b"ELSE", 4):
        put_text(b"ELSE", 4, to)
        return p + 4
    if reads(p, end, b"ENDIF", 5):
        put_text(b"ENDIF", 5, to)
        return p + 5
    if reads(p, end, b"END", 3):
        put_text(b"END", 3, to)
        return put_bare(blanks(p + 3, end), end, False, to)
    if reads(p, end, b"DO", 2):
        put_text(b"DO", 2, to)
        return put_bare(blanks(p + 2, end), end, False, to)
    return NULL


cdef inline bint opens_statement(const u8* p, const u8* end) noexcept nogil:
    """Whether a statement that is no word opens here, GOTO and output statements among them; a doubt is a yes."""
    return (
        reads(p, end, b"IF", 2) or reads(p, end, b"THEN", 4) or reads(p, end, b"ELSE", 4) or reads(p, end, b"END", 3)
        or reads(p, end, b"WHILE", 5) or reads(p, end, b"DO", 2) or reads(p, end, b"GOTO", 4)
        or reads(p, end, b"DPRNT", 5) or reads(p, end, b"BPRNT", 5) or reads(p, end, b"SETVN", 5)
        or reads(p, end, b"POPEN", 5) or reads(p, end, b"PCLOS", 5) or reads(p, end, b"FOPEN", 5)
        or reads(p, end, b"FCLOS", 5)
    )
