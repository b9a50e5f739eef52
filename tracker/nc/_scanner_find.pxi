"""Finding a few blocks in a long canonical text (part of `tracker.nc._scanner`)."""

cdef enum:
    PAGE_IN_REACH = 1 << 16  # bytes looked at for one letter after the other while they are near the processor


cdef Py_ssize_t count_feeds(const u8* p, const u8* end) noexcept nogil:
    cdef Py_ssize_t feeds = 0
    cdef u8 some
    cdef int i
    while end - p >= 128:  # few enough for a byte to count, which a compiler turns into many at a time
        some = 0
        for i in range(128):
            some += p[i] == 10
        feeds += some
        p += 128
    while p < end:
        feeds += p[0] == 10
        p += 1
    return feeds


cdef inline const u8* past_blanks_and_zeros(const u8* p, const u8* end) noexcept nogil:
    """Past what may stand before the digits that count: blanks, zeros, a plus."""
    while p < end and (p[0] == 32 or p[0] == 9 or p[0] == 48 or p[0] == 43):
        p += 1
    return p


cdef bint reads_on(const u8* p, const u8* end, const char* wanted) noexcept nogil:
    """Whether the characters wanted follow, in either case and with blanks between, or a comment that may hide them."""
    while wanted[0]:
        p = blanks(p, end)
        if p == end:
            return False
        if p[0] == 40:
            return True
        if p[0] != <u8>wanted[0] and not (wanted[0] >= 65 and p[0] == <u8>wanted[0] + 32):
            return False
        p += 1
        wanted += 1
    return True


cdef bint calls_here(u8 letter, const u8* p, const u8* stop) noexcept nogil:
    """Whether a call may be written by a letter and what follows it."""
    cdef const u8* q
    if letter == 67 or letter == 99:
        return reads_on(p, stop, b"ALL")
    if letter == 69 or letter == 101:
        return reads_on(p, stop, b"XEC")
    q = past_blanks_and_zeros(p, stop)
    if letter == 71 or letter == 103:
        return reads_on(q, stop, b"65") or reads_on(q, stop, b"66")
    return (
        reads_on(q, stop, b"98") or reads_on(q, stop, b"97")
        or reads_on(q, stop, b"96") or reads_on(q, stop, b"198")
    )


def may_call(bytes data):
    """Whether a program may hold a call: M96, M97, M98, M198, G65, G66, CALL or EXEC, however written; no is sure."""
    cdef const u8* page = data
    cdef const u8* stop = page + len(data)
    cdef const u8* page_end
    cdef const u8* p
    cdef u8 letter
    while page < stop:
        page_end = page + PAGE_IN_REACH if stop - page > PAGE_IN_REACH else stop
        for letter in b"MmGgCcEe":
            p = page
            while p < page_end:
                p = <const u8*>memchr(p, letter, page_end - p)
                if p == NULL:
                    break
                p += 1
                if calls_here(letter, p, stop):
                    return True
        page = page_end
    return False


cdef inline const u8* opening(const u8* begin, const u8* p) noexcept nogil:
    """Where the block that holds ``p`` begins."""
    while p > begin and (p - 1)[0] != 10:
        p -= 1
    return p


cdef int spans_of_page(const u8* begin, Py_ssize_t at, Py_ssize_t until, Py_ssize_t size, list by_letter, set spans) except -1:
    """Add the blocks of which a needle begins in ``at`` to ``until``; ``size`` is that of the whole text."""
    cdef const u8* stop = begin + size
    cdef const u8* page_end = begin + until
    cdef const u8* p
    cdef const u8* end
    cdef const u8* word
    cdef u8 letter
    cdef bytes needle
    for letter, alike in by_letter:
        p = begin + at
        while p < page_end:
            p = <const u8*>memchr(p, letter, page_end - p)
            if p == NULL:
                break
            end = p
            for needle in alike:
                word = needle
                if stop - p >= len(needle) and memcmp(p, word, len(needle)) == 0:
                    end = <const u8*>memchr(p, 10, stop - p)
                    if end == NULL:
                        end = stop
                    spans.add((opening(begin, p) - begin, end - begin))
                    break
            p = end if end > p else p + 1
    return 0


def spans_holding(bytes code, needles):
    """Blocks that hold one of ``needles`` anywhere, in order: index, first byte, byte of the line feed (or the end)."""
    cdef const u8* begin = code
    cdef Py_ssize_t size = len(code)
    cdef Py_ssize_t at, block, counted
    cdef bytes needle
    by_letter = {}
    for needle in needles:
        if not needle:
            raise ValueError("an empty needle is everywhere")
        by_letter.setdefault(needle[0], []).append(needle)
    letters = list(by_letter.items())
    spans = set()
    for at in range(0, size, PAGE_IN_REACH):
        spans_of_page(begin, at, min(at + PAGE_IN_REACH, size), size, letters, spans)
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
