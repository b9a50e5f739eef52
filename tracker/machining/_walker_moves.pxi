"""What a plain line does (part of `tracker.machining._walker`); `tracker.machining.going` says what the fields mean."""

cdef struct State:
    int motion, first, second, third
    bint absolute, arc_absolute, points, moved, cut, risen
    double factor, feed, tolerance, mismatch
    double cutting, rapid, minutes, lowest_rapid, feed_low, feed_high
    double here[3]
    double low[3]
    double high[3]
    # for those who watch a row: extents of the ends of moves and of bulges, the line that gets lowest, letters met, moves;
    # the highest F of them and its first line
    double ends_low[3]
    double ends_high[3]
    double fastest
    const u8* lowest
    const u8* fastest_line
    unsigned int letters
    Py_ssize_t moves

cdef struct Bow:        # an arc: its centre in the plane, radius and angle
    double a, b, radius, angle


cdef inline void reach(State* s, int axis, double one) noexcept nogil:
    if one < s.low[axis]:
        s.low[axis] = one
    if one > s.high[axis]:
        s.high[axis] = one


cdef inline void get_to(State* s, int axis, double one, const u8* line) noexcept nogil:
    """A move of this line gets to this coordinate: for those who watch the row."""
    if one < s.ends_low[axis]:
        s.ends_low[axis] = one
        if axis == 2:
            s.lowest = line
    if one > s.ends_high[axis]:
        s.ends_high[axis] = one


cdef inline bint within(const double* low, const double* high, int axis, double middle, double radius) noexcept nogil:
    return low[axis] <= middle - radius and middle + radius <= high[axis]


cdef inline void fed(State* s, const double* there, double length) noexcept nogil:
    """A feed move of this length has been made to ``there``: sums, extents of its ends, feeds."""
    cdef int axis
    s.cutting += length
    s.minutes += length / s.feed
    for axis in range(3):
        reach(s, axis, s.here[axis])
        reach(s, axis, there[axis])
    if s.feed < s.feed_low:
        s.feed_low = s.feed
    if s.feed > s.feed_high:
        s.feed_high = s.feed
    s.cut = True


cdef inline void rapid_move(State* s, const double* there, double length) noexcept nogil:
    s.rapid += length
    s.risen |= s.here[2] != there[2]
    if s.here[0] == there[0] and s.here[1] == there[1]:
        return
    if s.here[2] < s.lowest_rapid:
        s.lowest_rapid = s.here[2]
    if there[2] < s.lowest_rapid:
        s.lowest_rapid = there[2]


cdef inline const u8* step(State* s, const u8* p, const u8* stop) noexcept nogil:
    """Run the line at ``p``; the next one, or NULL where it is for the reference, which finds all as it was."""
    cdef Words words
    cdef int motion, axis
    cdef double feed = s.feed
    cdef double there[3]
    cdef double steps[3]
    cdef const u8* after = read_words(p, s.points, &words)
    if after == NULL:
        return NULL
    if after[0] == 40:
        return <const u8*>memchr(after, 10, stop - after) + 1
    after += 2 if after[0] == 13 else 1
    motion = s.motion if words.code < 0 else words.code
    if words.has & (1 << F):
        feed = words.value[F] * s.factor
        if not feed > 0:
            return NULL
    if not words.has & (7 if motion < 2 else 63):
        s.motion, s.feed = motion, feed
        s.letters |= words.has
        return after
    if motion and not feed > 0:
        return NULL
    if motion < 2 and words.has & (1 << R):
        return NULL
    for axis in range(3):
        steps[axis] = 0.0
        there[axis] = s.here[axis]
        if words.has & (1 << axis):
            there[axis] = words.value[axis] * s.factor
            if not s.absolute:
                there[axis] = s.here[axis] + there[axis]
            steps[axis] = there[axis] - s.here[axis]
    if motion < 2:
        s.motion, s.feed = motion, feed
        line(s, there, sqrt(steps[0] * steps[0] + steps[1] * steps[1] + steps[2] * steps[2]))
    elif not arc(s, &words, motion == 2, feed, there, steps, p):
        return NULL
    else:
        s.motion = motion
    s.moved = True
    s.letters |= words.has
    s.moves += 1
    if s.feed > s.fastest:
        s.fastest, s.fastest_line = s.feed, p
    for axis in range(3):
        s.here[axis] = there[axis]
        get_to(s, axis, there[axis], p)
    return after


cdef inline void line(State* s, const double* there, double length) noexcept nogil:
    if s.motion:
        fed(s, there, length)
    else:
        rapid_move(s, there, length)
