"""Line ends and plain characters of a whole text, as in `tracker.nc.ends` (part of `tracker.nc._scanner`)."""


cdef bint all_plain(const u8* p, const u8* end) noexcept nogil:
    """Whether all of it is printable ASCII, tabs and line ends; written so that a compiler takes many at a time."""
    cdef u8 odd = 0
    cdef u8 c
    cdef int i
    while end - p >= 256:
        for i in range(256):
            c = p[i]
            odd |= (c > 126) | ((c < 32) & (c != 9) & (c != 10) & (c != 13))
        if odd:
            return False
        p += 256
    while p < end:
        c = p[0]
        odd |= (c > 126) | ((c < 32) & (c != 9) & (c != 10) & (c != 13))
        p += 1
    return not odd


def is_plain(bytes data):
    """`tracker.nc.ends.is_plain`."""
    cdef const u8* p = data
    cdef const u8* end = p + len(data)
    cdef bint answer
    with nogil:
        answer = all_plain(p, end)
    return answer


def with_crlf(bytes data):
    """`tracker.nc.ends.with_crlf`."""
    cdef const u8* p = data
    cdef const u8* stop = p + len(data)
    cdef const u8* end
    cdef Py_ssize_t feeds
    cdef bytes made
    cdef u8* o
    with nogil:
        feeds = count_feeds(p, stop)
    made = PyBytes_FromStringAndSize(NULL, len(data) + feeds)
    o = <u8*>PyBytes_AS_STRING(made)
    with nogil:
        while p < stop:
            end = <const u8*>memchr(p, 10, stop - p)
            if end == NULL:
                memcpy(o, p, stop - p)
                break
            memcpy(o, p, end - p)
            o += end - p
            o[0] = 13
            o[1] = 10
            o += 2
            p = end + 1
    return made


cdef const u8* same_lines(const u8* o, const u8* o_stop, const u8* n, const u8* n_stop, Py_ssize_t* returns) noexcept nogil:
    """Where in the old text its lines end that the new ones up to ``n_stop`` are; NULL where they are others.

    ``returns`` counts the CR of the old text that belong to a line end.
    """
    cdef const u8* o_end
    cdef const u8* n_end
    cdef const u8* o_next
    cdef Py_ssize_t size
    while n < n_stop:
        n_end = <const u8*>memchr(n, 10, n_stop - n)
        if n_end == NULL or o >= o_stop:
            return NULL
        o_end = <const u8*>memchr(o, 10, o_stop - o)
        if o_end == NULL:
            o_end = o_next = o_stop
        else:
            o_next = o_end + 1
            if o_end > o and (o_end - 1)[0] == 13:
                o_end -= 1
                returns[0] += 1
        size = n_end - n
        if size > 0 and (n_end - 1)[0] == 13:
            size -= 1
        if size != o_end - o or memcmp(o, n, size) != 0:
            return NULL
        o, n = o_next, n_end + 1
    return o


def same_but_ends(bytes old, bytes new, Py_ssize_t at, Py_ssize_t size):
    """`tracker.nc.ends.same_but_ends`."""
    cdef const u8* o = old
    cdef const u8* o_stop = o + len(old)
    cdef const u8* start = o
    cdef const u8* n = new
    cdef const u8* n_stop = n + len(new)
    cdef Py_ssize_t returns = 0
    cdef bint answer = False
    if at < 0 or size < 0 or at + size > len(new) or (at and n[at - 1] != 10):
        return False
    with nogil:
        o = same_lines(o, o_stop, n, n + at, &returns)
        if o != NULL:
            o = same_lines(o, o_stop, n + at + size, n_stop, &returns)
        if o != NULL and o == o_stop and all_plain(start, o_stop):
            answer = count_byte(start, o_stop, 13) == returns
    return answer


cdef Py_ssize_t count_byte(const u8* p, const u8* end, u8 wanted) noexcept nogil:
    cdef Py_ssize_t found = 0
    while p < end:
        p = <const u8*>memchr(p, wanted, end - p)
        if p == NULL:
            break
        found += 1
        p += 1
    return found
