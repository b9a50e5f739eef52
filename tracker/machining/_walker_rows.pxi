"""Rows of plain motion lines (part of `tracker.machining._walker`): what they are says `tracker.machining.plain_lines`."""

cdef u8 OPENS[65536]
cdef u8 WORDING[256]


cdef void fill_openings() except *:
    cdef int at
    letters = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
    acting = set(plain_lines.OPENINGS.split())
    for at in range(65536):
        one, two = chr(at >> 8).upper(), chr(at & 255).upper()
        OPENS[at] = at >> 8 < 128 and at & 255 < 128 and one in letters and two in letters and one + two not in acting
    for at in range(256):
        WORDING[at] = at < 128 and (chr(at).isalnum() or chr(at) in " .+/:*_-")


fill_openings()


cdef inline const u8* line_end(const u8* p, const u8* stop) noexcept nogil:
    """Behind a line end at ``p``, or NULL."""
    if p < stop and p[0] == 13:
        p += 1
    return p + 1 if p < stop and p[0] == 10 else NULL


cdef inline const u8* skip_blanks(const u8* p, const u8* stop) noexcept nogil:
    while p < stop and is_blank(p[0]):
        p += 1
    return p


cdef inline const u8* skip_number(const u8* p, const u8* stop) noexcept nogil:
    """Behind a number at ``p``, or NULL."""
    cdef const u8* digits
    cdef Py_ssize_t points = 0
    if p < stop and (p[0] == 43 or p[0] == 45):
        p += 1
    digits = p
    while p < stop and (is_digit(p[0]) or (p[0] == 46 and not points)):
        points += p[0] == 46
        p += 1
    return p if p - digits > points else NULL


cdef const u8* plain_line(const u8* p, const u8* stop, bint coded) noexcept nogil:
    """Behind a plain line at ``p``, or NULL."""
    cdef bint words = False
    p = skip_blanks(p, stop)
    if p < stop and (p[0] == 78 or p[0] == 110):
        p = skip_blanks(p + 1, stop)
        if p == stop or not is_digit(p[0]):
            return NULL
        while p < stop and is_digit(p[0]):
            p += 1
        p = skip_blanks(p, stop)
    while p < stop:
        if PLACE[p[0]] != NO_LETTER:
            p = skip_number(skip_blanks(p + 1, stop), stop)
            if p == NULL:
                return NULL
        elif coded and (p[0] == 71 or p[0] == 103):
            p = skip_blanks(p + 1, stop)
            if p + 1 < stop and p[0] == 48 and is_digit(p[1]):
                p += 1
            if p == stop or not 48 <= p[0] <= 51:
                return NULL
            p += 1
            if p < stop and (is_digit(p[0]) or p[0] == 46):
                return NULL
        else:
            break
        words = True
        p = skip_blanks(p, stop)
    return line_end(p, stop) if words else NULL


cdef const u8* wording_line(const u8* p, const u8* stop) noexcept nogil:
    """Behind a line of a comment that surely is only wording, or NULL."""
    p = skip_blanks(p, stop)
    if stop - p < 3 or p[0] != 40 or not OPENS[(<unsigned int>p[1] << 8) | p[2]]:
        return NULL
    p += 3
    while p < stop and WORDING[p[0]]:
        p += 1
    if p == stop or p[0] != 41:
        return NULL
    return line_end(skip_blanks(p + 1, stop), stop)


def rows(bytes data, Py_ssize_t shortest, bint coded):
    """Start, end, first physical line and lines of every row of at least so many plain lines (if not coded: without G)."""
    cdef const u8* begin = data
    cdef const u8* stop = begin + len(data)
    cdef const u8* p = begin
    cdef const u8* start = NULL
    cdef const u8* end = NULL       # of the last plain line of the row
    cdef const u8* after
    cdef Py_ssize_t line = 1, first = 0, last = 0, plain = 0
    found = []
    while True:
        after = plain_line(p, stop, coded) if p < stop else NULL
        if after != NULL:
            if not plain:
                start, first = p, line
            plain += 1
            end, last = after, line
        else:
            after = wording_line(p, stop) if coded and plain and p < stop else NULL
            if after == NULL:
                if plain >= shortest:
                    found.append((start - begin, end - begin, first, last - first + 1))
                plain = 0
                if p >= stop:
                    return found
                after = <const u8*>memchr(p, 10, stop - p)
                after = stop if after == NULL else after + 1
        p = after
        line += 1
