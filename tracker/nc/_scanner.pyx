# cython: language_level=3, boundscheck=False, wraparound=False, cdivision=True, initializedcheck=False
"""Compiled reading of lines that need no care: the quick part of `tracker.nc.scan`.

`Scanner` walks whole lines and writes what the reference (`tracker.nc.canonical`) writes, byte for byte. It reads by
itself the lines that the reference calls simple (`tracker.nc.simple`), and besides: comments that are only wording,
variables and what is reckoned with them, a plain ``O`` number as first word, lone per cent signs and blank lines. Every other line, and every line
while a G10 is open, goes to the function ``odd`` of the caller. The rules stand in the modules named here; nothing is
decided in this one that is not decided there.
"""

from libc.string cimport memchr, memcmp, memcpy

include "_scanner_words.pxi"
include "_scanner_buffer.pxi"
include "_scanner_find.pxi"
include "_scanner_rows.pxi"
include "_scanner_ends.pxi"

class Unclean(Exception):  # noqa: N818 - says what was met, not what went wrong
    """The file holds a character that only the reference knows how to place."""


cdef inline bint is_unclean(const u8* p, const u8* end) noexcept nogil:
    """Whether a line holds a character that may be leader, trailer, line end or the mark of a binary."""
    cdef u8 c
    while p < end:
        c = p[0]
        if c == 0 or c == 13 or c == 26 or c == 127 or 17 <= c <= 20:
            return True
        p += 1
    return False


cdef void put_rest(Buffer* to, const u8* p, const u8* end, const Line* line, bint number_stays) noexcept nogil:
    """Write a line without its N (and the blanks after it) and its wording (and the blanks before it)."""
    cdef Py_ssize_t floor = to.size
    cdef bint eats = False
    cdef int comment = 0
    while p < end:
        if comment < line.comments and p == line.opened[comment]:
            while to.size > floor and (to.at[to.size - 1] == 32 or to.at[to.size - 1] == 9):
                to.size -= 1
            p = line.closed[comment]
            comment += 1
        elif p == line.number_from and not number_stays:
            p = line.number_to
            floor = to.size
            eats = True
        elif eats and (p[0] == 32 or p[0] == 9):
            p += 1
        else:
            eats = False
            put_byte(to, p[0])
            p += 1


cdef class Scanner:
    """Reads lines and collects what they say, for one pass over one file.

    Args:
        odd: called with a line that needs care (bytes without its line end) and its physical number; returns its
            canonical text (bytes, empty when nothing of it is code), whether it is a block or holds a number, whether
            a G10 is open after it, whether comments are code after it, and the entries it adds to numbering, wording
            and format (three lists of bytes; looked at only with strands). It calls `open_scope` and `add_number`.
        strands: also spin the strands of a reading.
        all_stay: every N stays.
        percent_stays: lone per cent signs are code.
        scopes_odd: a line that opens a scope is odd.
        first: physical number of the first line.
    """

    cdef object odd
    cdef bint strands, all_stay, percent_stays, scopes_odd
    cdef bint data, comments_kept, has_named
    cdef set named
    cdef Buffer out, numbering, wording, format, places, numbers
    cdef bint in_numbering, in_wording, in_format
    cdef readonly Py_ssize_t line, counted, blocks, percents, odds
    cdef readonly bint first_leads, blocks_seen, block_since
    cdef readonly list scope_lines
    cdef list scope_starts

    def __cinit__(self, odd, *, strands=False, all_stay=False, percent_stays=False, scopes_odd=False, first=1):
        self.odd = odd
        self.strands, self.all_stay, self.percent_stays = strands, all_stay, percent_stays
        self.scopes_odd = scopes_odd
        self.line = first - 1
        self.scope_lines, self.scope_starts = [], []

    def __dealloc__(self):
        Py_XDECREF(self.out.whole)
        Py_XDECREF(self.numbering.whole)
        Py_XDECREF(self.wording.whole)
        Py_XDECREF(self.format.whole)
        Py_XDECREF(self.places.whole)
        Py_XDECREF(self.numbers.whole)

    def set_labels(self, bint all_stay, set named):
        """What becomes of the N words from here on: ``named`` are labels that stay or are renamed, or None."""
        self.all_stay = all_stay
        self.named = named
        self.has_named = bool(named)

    def feed(self, bytes text):
        """Read whole lines; the last one may lack its line end.

        Raises:
            Unclean: a line is for the reference alone. What was written so far is of no use then.
        """
        cdef const u8* p = text
        cdef const u8* stop = p + len(text)
        cdef const u8* end
        cdef const u8* next_line
        cdef Py_ssize_t more = 2 * len(text) + 64
        reserve(&self.out, more)
        reserve(&self.numbers, more)
        with nogil:  # so that two files can be read side by side
            while p < stop:
                end = <const u8*>memchr(p, 10, stop - p)
                if end == NULL:
                    end = next_line = stop
                else:
                    next_line = end + 1
                    if end > p and (end - 1)[0] == 13:
                        end -= 1
                self.line += 1
                self._line(p, end, next_line, stop)
                p = next_line

    cdef int _line(self, const u8* p, const u8* end, const u8* next_line, const u8* stop) except -1 nogil:
        cdef Line line
        cdef u8* start = self.out.at + self.out.size
        cdef u8* o = start
        cdef int what = quick_line(p, end, &o, &line)
        if what == PERCENT:
            return self._percent(p, end, next_line, stop)
        if what == ODD or self._needs_care(what, &line):
            return self._odd(p, end, next_line, stop)
        self.counted += what == BLOCK
        if line.opens_scope:  # before the N is looked at: it belongs to the scope that begins
            with gil:
                self.open_scope()
        if line.number_from != NULL:
            if self.all_stay:
                o = self._with_number(start, o, &line)
                what = BLOCK
            else:
                (<unsigned int*>(self.numbers.at + self.numbers.size))[0] = line.value
                self.numbers.size += sizeof(unsigned int)
        elif what == BLANK:
            return self._blank(p, end, &line)
        self.blocks_seen = self.block_since = True
        if self.strands:
            self._spin(p, end, &line, start, o)
        if what == BLOCK:
            o[0] = 10
            self.out.size = o + 1 - self.out.at
            self.blocks += 1
            if self.strands:
                self._end_block(end, next_line, stop)
        return 0

    cdef inline bint _needs_care(self, int what, const Line* line) noexcept nogil:
        if self.data:
            return what == BLOCK or line.number_from != NULL or line.comments > 0
        if self.comments_kept and line.comments:
            return True
        if line.opens_scope and self.scopes_odd:
            return True
        if not self.has_named or line.number_from == NULL:
            return False
        with gil:
            return line.value in self.named

    cdef u8* _with_number(self, u8* start, u8* o, const Line* line) noexcept nogil:
        """Move the words just written and put the N before them, its digits to the letter."""
        cdef const u8* digits = blanks(line.number_from + 1, line.number_to)
        cdef Py_ssize_t size = line.number_to - digits
        cdef Py_ssize_t at = o - start
        while at > 0:
            at -= 1
            start[at + size + 1] = start[at]
        start[0] = 78
        memcpy(start + 1, digits, size)
        return o + size + 1

    cpdef open_scope(self):
        """A scope begins in the current line."""
        self.scope_lines.append(self.line)
        self.scope_starts.append(self.numbers.size // sizeof(unsigned int))

    cdef int _percent(self, const u8* p, const u8* end, const u8* next_line, const u8* stop) except -1 nogil:
        self.percents += 1
        self.first_leads = self.first_leads or (self.percents == 1 and not self.blocks_seen)
        self.block_since = False
        if self.strands:
            reserve(&self.format, end - p + 8)
            if not self.percent_stays:
                self._entry(&self.format, &self.in_format, 112)
                put(&self.format, p, end - p)
            elif end - p != 1:
                self._entry(&self.format, &self.in_format, 116)
                put(&self.format, p, end - p)
        if self.percent_stays:
            put_byte(&self.out, 37)
            put_byte(&self.out, 10)
            self.blocks += 1
            if self.strands:
                self._end_block(end, next_line, stop)
        return 0

    cdef int _blank(self, const u8* p, const u8* end, const Line* line) except -1 nogil:
        """A line without words and without a number; comments may stand on it."""
        if not self.strands:
            return 0
        if line.comments:
            self._spin_wording(line)
            return 0
        reserve(&self.format, end - p + 8)
        self._entry(&self.format, &self.in_format, 98)
        put(&self.format, p, end - p)
        return 0

    cdef int _odd(self, const u8* p, const u8* end, const u8* next_line, const u8* stop) except -1 nogil:
        cdef bint is_code
        if is_unclean(p, end):
            with gil:
                raise Unclean
        self.odds += 1
        with gil:
            is_code = self._ask(p, end, stop)
        if is_code:
            put_byte(&self.out, 10)
            self.blocks += 1
            if self.strands:
                self._end_block(end, next_line, stop)
        return 0

    cdef bint _ask(self, const u8* p, const u8* end, const u8* stop) except? True:
        """Have a line read with care and write what comes of it; whether that is a block."""
        text, is_block, data, comments_kept, entries = self.odd(<bytes>p[:end - p], self.line)
        self.data, self.comments_kept = data, comments_kept
        if is_block:
            self.blocks_seen = self.block_since = True
        if self.strands:
            self._take(&self.numbering, &self.in_numbering, 32, entries[0])
            self._take(&self.wording, &self.in_wording, 30, entries[1])
            self._take(&self.format, &self.in_format, 30, entries[2])
        if not text:
            return False
        reserve(&self.out, len(text) + 1 + 2 * (stop - end) + 64)
        put(&self.out, text, len(text))
        return True

    def add_number(self, unsigned int value):
        """The N of a line read with care, as a label."""
        reserve(&self.numbers, 2 * sizeof(unsigned int))
        (<unsigned int*>(self.numbers.at + self.numbers.size))[0] = value
        self.numbers.size += sizeof(unsigned int)

    cdef inline int _entry(self, Buffer* strand, bint* begun, u8 kind) except -1 nogil:
        """Begin an entry of the format strand."""
        if begun[0]:
            put_byte(strand, 30)
        begun[0] = True
        put_byte(strand, kind)
        return 0

    cdef int _take(self, Buffer* strand, bint* begun, u8 parted, list entries) except -1:
        cdef bytes entry
        for entry in entries:
            reserve(strand, len(entry) + 8)
            if begun[0]:
                put_byte(strand, parted)
            begun[0] = True
            put(strand, entry, len(entry))
        return 0

    cdef int _spin(self, const u8* p, const u8* end, const Line* line, const u8* text, const u8* text_end) except -1 nogil:
        """The strands of a line with words or a number."""
        cdef bint goes = line.number_from != NULL and not self.all_stay
        cdef Py_ssize_t mark = self.format.size
        cdef Py_ssize_t body
        cdef bint begun = self.in_format
        if goes:
            reserve(&self.numbering, line.number_to - line.number_from + 8)
            if self.in_numbering:
                put_byte(&self.numbering, 32)
            self.in_numbering = True
            put(&self.numbering, line.number_from, line.number_to - line.number_from)
        if line.comments:
            self._spin_wording(line)
        if text == text_end:
            return 0
        if not line.comments and (not goes or line.number_from == p):
            p = blanks(line.number_to, end) if goes else p
            if end - p == text_end - text and memcmp(p, text, end - p) == 0:
                return 0  # written as it is spelled, as most lines are: nothing to remember
            reserve(&self.format, end - p + 8)
            self._entry(&self.format, &self.in_format, 116)
            put(&self.format, p, end - p)
            return 0
        reserve(&self.format, end - p + 8)
        self._entry(&self.format, &self.in_format, 116)
        body = self.format.size
        put_rest(&self.format, p, end, line, not goes)
        if self.format.size - body == text_end - text and memcmp(self.format.at + body, text, text_end - text) == 0:
            self.format.size = mark
            self.in_format = begun
        return 0

    cdef int _spin_wording(self, const Line* line) except -1 nogil:
        cdef int i
        for i in range(line.comments):
            reserve(&self.wording, line.closed[i] - line.opened[i] + 8)
            if self.in_wording:
                put_byte(&self.wording, 30)
            self.in_wording = True
            put(&self.wording, line.opened[i], line.closed[i] - line.opened[i])
        return 0

    cdef int _end_block(self, const u8* end, const u8* next_line, const u8* stop) except -1 nogil:
        """Close the lines of the strands after a block; the run of line ends that begins here is a format entry."""
        cdef const u8* p = end
        cdef bint crlf = False
        reserve(&self.format, 16)
        if end < next_line and end[0] == 13:
            crlf = True
            p = next_line
            while stop - p >= 2 and p[0] == 13 and p[1] == 10:
                p += 2
        else:
            while p < stop and p[0] == 10:
                p += 1
        if p < stop and (p[0] == 13 or p[0] == 10):
            with gil:
                raise Unclean  # line ends of more than one kind in one run
        if crlf:
            self._entry(&self.format, &self.in_format, 101)
            put_byte(&self.format, 13)
            put_byte(&self.format, 110)
        reserve(&self.places, sizeof(unsigned int))
        (<unsigned int*>(self.places.at + self.places.size))[0] = <unsigned int>self.line
        self.places.size += sizeof(unsigned int)
        return self._close_lines()

    cdef int _close_lines(self) except -1 nogil:
        reserve(&self.numbering, 8)
        reserve(&self.wording, 8)
        reserve(&self.format, 8)
        put_byte(&self.numbering, 10)
        put_byte(&self.wording, 10)
        put_byte(&self.format, 10)
        self.in_numbering = self.in_wording = self.in_format = False
        return 0

    def outside(self, bytes raw):
        """Leader or trailer, as an entry of the format strand."""
        if raw:
            self._take(&self.format, &self.in_format, 30, [b"o" + raw.hex().encode("ascii")])

    def close(self):
        """Write the last line of the strands."""
        self._close_lines()

    def let_go(self):
        """Forget who reads odd lines, and the numbers, once nothing more is read.

        The two hold each other, and with them buffers as long as the program, until the collector comes by.
        """
        self.odd = None
        Py_XDECREF(self.numbers.whole)
        self.numbers.whole = NULL
        self.numbers.at = NULL
        self.numbers.size = self.numbers.room = 0

    def take_code(self):
        """The canonical text written since the last call."""
        return taken(&self.out)

    def take_strands(self):
        """Numbering, wording, format, and the physical numbers of the blocks."""
        from array import array  # here, because it takes as long to import as all the rest

        places = array("I")
        places.frombytes(taken(&self.places))
        return taken(&self.numbering), taken(&self.wording), taken(&self.format), places

    def count(self, set wanted):
        """How often each wanted label stands in each scope: one dictionary for every scope, the first included."""
        cdef Py_ssize_t size = self.numbers.size // sizeof(unsigned int)
        cdef Py_ssize_t at = 0
        cdef Py_ssize_t scope_end
        cdef const unsigned int* numbers = <const unsigned int*>self.numbers.at
        cdef u8 maybe[4096]
        cdef unsigned int value
        cdef list found = []
        cdef dict counts
        for at in range(4096):
            maybe[at] = 0
        for value in wanted:
            maybe[value & 4095] = 1
        at = 0
        for scope_end in [*self.scope_starts, size]:
            counts = {}
            while at < scope_end:
                value = numbers[at]
                if maybe[value & 4095] and value in wanted:
                    counts[value] = counts.get(value, 0) + 1
                at += 1
            found.append(counts)
        return found
