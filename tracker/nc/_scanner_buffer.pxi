"""Bytes that grow, and are handed out without a copy (part of `tracker.nc._scanner`)."""

from cpython.bytes cimport PyBytes_AS_STRING, PyBytes_FromStringAndSize, _PyBytes_Resize
from cpython.ref cimport Py_INCREF, Py_XDECREF, PyObject

cdef struct Buffer:
    PyObject* whole   # a bytes object of ours alone, filled as far as ``size``; or NULL
    u8* at
    Py_ssize_t size
    Py_ssize_t room


cdef int grow(Buffer* buffer, Py_ssize_t more) except -1:
    cdef Py_ssize_t room = buffer.size + more + buffer.room // 2
    cdef bytes fresh
    if buffer.whole == NULL:
        fresh = PyBytes_FromStringAndSize(NULL, room)
        Py_INCREF(fresh)
        buffer.whole = <PyObject*>fresh
        fresh = None  # resizing needs the only reference
    else:
        _PyBytes_Resize(&buffer.whole, room)
    buffer.at = <u8*>PyBytes_AS_STRING(<bytes>buffer.whole)
    buffer.room = room
    return 0


cdef inline int reserve(Buffer* buffer, Py_ssize_t more) except -1 nogil:
    if buffer.size + more > buffer.room:
        with gil:
            grow(buffer, more)
    return 0


cdef bytes taken(Buffer* buffer):
    """What the buffer holds, without a copy; it is empty after that."""
    cdef bytes whole
    if buffer.size == 0:
        return b""
    _PyBytes_Resize(&buffer.whole, buffer.size)
    whole = <bytes>buffer.whole
    Py_XDECREF(buffer.whole)
    buffer.whole = NULL
    buffer.at = NULL
    buffer.size = buffer.room = 0
    return whole


cdef inline void put(Buffer* buffer, const u8* p, Py_ssize_t size) noexcept nogil:
    memcpy(buffer.at + buffer.size, p, size)
    buffer.size += size


cdef inline void put_byte(Buffer* buffer, u8 c) noexcept nogil:
    buffer.at[buffer.size] = c
    buffer.size += 1
