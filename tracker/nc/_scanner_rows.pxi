"""The inner loops of a shortest edit, as in `tracker.nc.difference_myers` (part of `tracker.nc._scanner`)."""

from cpython cimport array


cdef long long* numbers(array.array row) except? NULL:
    if row.ob_descr.typecode != b"q":
        raise TypeError("an array of type q is wanted")
    return row.data.as_longlongs


cdef inline Py_ssize_t place(Py_ssize_t diagonal, Py_ssize_t size) noexcept nogil:
    """Where a diagonal stands in a trail: negative ones use its end."""
    return diagonal if diagonal >= 0 else diagonal + size


def forward(array.array old, array.array new, box, trails, span, facing):
    """`tracker.nc.difference_myers._forward`; rows and trails are arrays of type ``q``."""
    cdef long long* o = numbers(old)
    cdef long long* n = numbers(new)
    cdef long long* front = numbers(trails.front)
    cdef long long* back = numbers(trails.back)
    cdef Py_ssize_t size = len(trails.front)
    cdef Py_ssize_t x, y, below, above, d
    cdef Py_ssize_t x1 = box[1], y1 = box[3]
    cdef Py_ssize_t low = span[0], facing_low = facing[0], facing_high = facing[1]
    d = span[1]
    while d >= low:
        below, above = front[place(d - 1, size)], front[place(d + 1, size)]
        x = above if below < above else below + 1
        y = x - d
        while x < x1 and y < y1 and o[x] == n[y]:
            x += 1
            y += 1
        front[place(d, size)] = x
        if facing_low <= d <= facing_high and back[place(d, size)] <= x:
            return x, y
        d -= 2
    return None


def backward(array.array old, array.array new, box, trails, span, facing):
    """`tracker.nc.difference_myers._backward`; rows and trails are arrays of type ``q``."""
    cdef long long* o = numbers(old)
    cdef long long* n = numbers(new)
    cdef long long* front = numbers(trails.front)
    cdef long long* back = numbers(trails.back)
    cdef Py_ssize_t size = len(trails.front)
    cdef Py_ssize_t x, y, below, above, d
    cdef Py_ssize_t x0 = box[0], y0 = box[2]
    cdef Py_ssize_t low = span[0], facing_low = facing[0], facing_high = facing[1]
    d = span[1]
    while d >= low:
        below, above = back[place(d - 1, size)], back[place(d + 1, size)]
        x = below if below < above else above - 1
        y = x - d
        while x > x0 and y > y0 and o[x - 1] == n[y - 1]:
            x -= 1
            y -= 1
        back[place(d, size)] = x
        if facing_low <= d <= facing_high and x <= front[place(d, size)]:
            return x, y
        d -= 2
    return None
