"""Arcs (part of `tracker.machining._walker`): what `tracker.machining.arcs` and `arc_motion` do, in the same order."""

cdef double TURN = arcs.TURN
cdef double TINY = arcs.TINY


cdef inline double smaller(double one, double other) noexcept nogil:
    return other if other < one else one


cdef inline double larger(double one, double other) noexcept nogil:
    return other if other > one else one


cdef inline double sweep(double start, double end, bint clockwise) noexcept nogil:
    cdef double angle = start - end if clockwise else end - start
    while angle <= TINY:
        angle += TURN
    while angle > TURN + TINY:
        angle -= TURN
    return angle + 0.0


cdef inline double distance(double a, double b, double to_a, double to_b) noexcept nogil:
    cdef double da = to_a - a, db = to_b - b
    return sqrt(da * da + db * db)


cdef bint by_radius(State* s, double radius, bint clockwise, double a, double b, double to_a, double to_b, Bow* bow) noexcept nogil:
    """The centre of an arc given by its radius; no where there is none."""
    cdef double chord = distance(a, b, to_a, to_b)
    cdef double size = fabs(radius)
    cdef double half, height, da, db
    if chord <= TINY or size <= TINY or chord / 2 - size > s.tolerance:
        return False
    half = chord / 2
    height = sqrt(larger(size * size - half * half, 0.0))
    if clockwise == (radius > 0):
        height = -height
    da = (to_a - a) / chord
    db = (to_b - b) / chord
    bow.a = (a + to_a) / 2 - db * height
    bow.b = (b + to_b) / 2 + da * height
    return True


cdef bint by_centre(State* s, const Words* words, double a, double b, Bow* bow) noexcept nogil:
    """The centre of an arc given by it; no where it is not known."""
    cdef unsigned int one = 1 << (I + s.first), two = 1 << (I + s.second)
    if not words.has & (one | two):
        return False
    if s.arc_absolute:
        if not (words.has & one and words.has & two):
            return False
        bow.a = words.value[I + s.first] * s.factor
        bow.b = words.value[I + s.second] * s.factor
        return True
    bow.a = a + (words.value[I + s.first] * s.factor if words.has & one else 0.0)
    bow.b = b + (words.value[I + s.second] * s.factor if words.has & two else 0.0)
    return True


cdef void bulge(State* s, const Bow* bow, bint clockwise, double a, double b, double to_a, double to_b, const u8* p) noexcept nogil:
    """Extents of an arc in its plane: its ends and its bulges; ``p``: its line."""
    cdef double low_a, high_a, low_b, high_b, first, da, db
    cdef int quarter
    if within(s.low, s.high, s.first, bow.a, bow.radius) and within(s.low, s.high, s.second, bow.b, bow.radius):
        if within(s.ends_low, s.ends_high, s.first, bow.a, bow.radius) and within(s.ends_low, s.ends_high, s.second, bow.b, bow.radius):
            return  # the whole circle lies within what was reached before
    a, b = a + 0.0, b + 0.0     # a zero has no sign here
    to_a, to_b = to_a + 0.0, to_b + 0.0
    low_a, high_a = smaller(a, to_a), larger(a, to_a)
    low_b, high_b = smaller(b, to_b), larger(b, to_b)
    first = atan2(b - bow.b, a - bow.a)
    for quarter in range(4):
        if sweep(first, 0.0 if quarter == 0 else TURN / 4 if quarter == 1 else TURN / 2 if quarter == 2 else 3 * TURN / 4, clockwise) <= bow.angle + TINY:
            da = 1 if quarter == 0 else -1 if quarter == 2 else 0
            db = 1 if quarter == 1 else -1 if quarter == 3 else 0
            low_a, high_a = smaller(low_a, bow.a + bow.radius * da), larger(high_a, bow.a + bow.radius * da)
            low_b, high_b = smaller(low_b, bow.b + bow.radius * db), larger(high_b, bow.b + bow.radius * db)
    reach(s, s.first, low_a)
    reach(s, s.first, high_a)
    reach(s, s.second, low_b)
    reach(s, s.second, high_b)
    get_to(s, s.first, low_a, p)
    get_to(s, s.first, high_a, p)
    get_to(s, s.second, low_b, p)
    get_to(s, s.second, high_b, p)


cdef bint arc(State* s, const Words* words, bint clockwise, double feed, const double* there, const double* steps, const u8* p) noexcept nogil:
    """An arc to ``there``; no, and nothing done, where it is for the reference."""
    cdef Bow bow
    cdef double a = s.here[s.first], b = s.here[s.second], to_a = there[s.first], to_b = there[s.second]
    cdef double around, rise
    if words.has & (1 << R):
        if not by_radius(s, words.value[R] * s.factor, clockwise, a, b, to_a, to_b, &bow):
            return False
    elif not by_centre(s, words, a, b, &bow):
        return False
    bow.radius = distance(bow.a, bow.b, a, b)
    if fabs(bow.radius - distance(bow.a, bow.b, to_a, to_b)) > s.mismatch:
        return False
    bow.angle = sweep(atan2(b - bow.b, a - bow.a), atan2(to_b - bow.b, to_a - bow.a), clockwise)
    around = bow.radius * bow.angle
    rise = steps[s.third]
    s.feed = feed
    fed(s, there, sqrt(around * around + rise * rise))
    bulge(s, &bow, clockwise, a, b, to_a, to_b, p)
    return True
