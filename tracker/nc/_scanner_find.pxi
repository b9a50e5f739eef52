"""Finding a few blocks in a long canonical text (part of `tracker.nc._scanner`)."""


cdef Py_ssize_t count_feeds(const u8* p, const u8* end) noexcept nogil:
    cdef Py_ssize_t feeds = 0
    while p < end:
        feeds += p[0] == 10
        p += 1
    return feeds


def spans_holding(bytes code, needles):
    """Blocks that hold one of ``needles`` anywhere, in order: index, first byte, byte of the line feed (or the end)."""
    cdef const u8* begin = code
    cdef const u8* stop = begin + len(code)
    cdef const u8* p
    cdef const u8* start
    cdef const u8* end
    cdef Py_ssize_t size, block, counted
    cdef const u8* word
    spans = set()
    for needle in needles:
        word = needle
        size = len(needle)
        if size == 0:
            raise ValueError("an empty needle is everywhere")
        p = begin
        while True:
            p = <const u8*>memchr(p, word[0], stop - p) if p < stop else NULL
            if p == NULL or stop - p < size:
                break
            if memcmp(p, word, size) != 0:
                p += 1
                continue
            end = <const u8*>memchr(p, 10, stop - p)
            if end == NULL:
                end = stop
            start = p
            while start > begin and (start - 1)[0] != 10:
                start -= 1
            spans.add((start - begin, end - begin))
            p = end
    found = []
    block = counted = 0
    for first, last in sorted(spans):
        block += count_feeds(begin + counted, begin + <Py_ssize_t>first)
        counted = first
        found.append((block, first, last))
    return found


def start_of(bytes code, Py_ssize_t block):
    """The byte block ``block`` starts at; the length of the text if there is no such block."""
    cdef const u8* begin = code
    cdef const u8* stop = begin + len(code)
    cdef const u8* p = begin
    cdef Py_ssize_t feeds
    cdef Py_ssize_t page = 1 << 14
    while block > 0:
        if stop - p > page:
            feeds = count_feeds(p, p + page)
            if feeds < block:
                block -= feeds
                p += page
                continue
        p = <const u8*>memchr(p, 10, stop - p) if p < stop else NULL
        if p == NULL:
            return len(code)
        p += 1
        block -= 1
    return p - begin
