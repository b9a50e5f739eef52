"""The words of a plain line (part of `tracker.machining._walker`)."""

ctypedef unsigned char u8

cdef enum:
    X = 0           # places of the letters in a line
    Y = 1
    Z = 2
    I = 3
    J = 4
    K = 5
    R = 6
    F = 7
    LETTERS = 8
    NO_LETTER = -1
    MOST_DECIMALS = 22

cdef unsigned long long MOST_DIGITS = 1 << 53   # whole numbers below it are floats, and so are powers of ten to 10^22
cdef double TEN[MOST_DECIMALS + 1]
cdef signed char PLACE[256]
cdef double FARTHEST = block_words.FARTHEST

cdef struct Words:
    unsigned int has    # a bit a letter
    int code            # the last G, or -1
    double value[LETTERS]


cdef void fill_places() except *:
    cdef int at
    for at in range(256):
        PLACE[at] = NO_LETTER
    for at, name in enumerate("XYZIJKRF"):
        PLACE[ord(name)] = PLACE[ord(name.lower())] = at
    for at in range(MOST_DECIMALS + 1):
        TEN[at] = float(10**at)


fill_places()


cdef inline bint is_digit(u8 c) noexcept nogil:
    return 48 <= c <= 57


cdef inline bint is_blank(u8 c) noexcept nogil:
    return c == 32 or c == 9


cdef inline const u8* read_number(const u8* p, int place, bint points, double* value) noexcept nogil:
    """Read a number as `float` does, behind its letter; NULL where it is for the reference.

    A whole number below 2^53 divided by a power of ten up to 10^22 is rounded once, as it is when the digits are read.
    """
    cdef unsigned long long whole = 0
    cdef int decimals = 0
    cdef bint minus = False, point = False
    if p[0] == 45:
        minus = True
        p += 1
    elif p[0] == 43:
        p += 1
    while True:
        if is_digit(p[0]):
            if whole >= MOST_DIGITS / 16:
                return NULL
            whole = whole * 10 + (p[0] - 48)
            decimals += point
        elif p[0] == 46 and not point:
            point = True
        else:
            break
        p += 1
    if decimals > MOST_DECIMALS:
        return NULL
    if not point and whole and points and place != F:
        return NULL
    value[0] = whole / TEN[decimals] if decimals else <double>whole
    if minus and (whole or point or place > K):  # a zero without a point loses its sign on these letters
        value[0] = -value[0]
    if value[0] >= FARTHEST or value[0] <= -FARTHEST:
        return NULL
    return p


cdef inline const u8* read_words(const u8* p, bint points, Words* words) noexcept nogil:
    """Read a plain line up to its end; NULL where it is for the reference. That it is plain is known."""
    cdef int place
    words.has = 0
    words.code = -1
    while True:
        while is_blank(p[0]):
            p += 1
        place = PLACE[p[0]]
        if place != NO_LETTER:
            p += 1
            while is_blank(p[0]):
                p += 1
            p = read_number(p, place, points, &words.value[place])
            if p == NULL:
                return NULL
            words.has |= 1 << place
        elif p[0] == 71 or p[0] == 103:
            p += 1
            while is_blank(p[0]):
                p += 1
            if p[0] == 48 and is_digit(p[1]):
                p += 1
            words.code = p[0] - 48
            p += 1
        elif p[0] == 78 or p[0] == 110:
            p += 1
            while is_blank(p[0]) or is_digit(p[0]):
                p += 1
        else:
            return p
