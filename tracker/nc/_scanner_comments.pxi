"""Comments that surely are only wording: any doubt is a no (part of `tracker.nc._scanner`)."""

cdef inline bint starts(const u8* head, int size, const char* word, int length) noexcept nogil:
    return size >= length and memcmp(head, word, length) == 0


cdef bint is_wording(const u8* p, const u8* end) noexcept nogil:
    """Whether what stands between ( and ) surely is wording; any doubt is a no."""
    cdef u8 head[HEAD]
    cdef int size = 0
    cdef bint letter = False
    cdef u8 c
    while p < end:
        c = p[0]
        if 97 <= c <= 122:
            c -= 32
        if 65 <= c <= 90:
            letter = True
        elif c == 40 or c == 37 or c == 127 or (c < 32 and c != 9):
            return False
        if size < HEAD and c != 32 and c != 9:
            head[size] = c
            size += 1
        p += 1
    if not letter or size == 3 or size > 3 and head[3] == 44:  # three letters alone or with a comma: looked at more closely
        return False
    c = head[0]
    if c == 80:  # P
        return not (
            size > 1 and is_digit(head[1])
            or starts(head, size, b"PRINT", 5) or starts(head, size, b"PROBE", 5)
            or starts(head, size, b"PY", 2) or starts(head, size, b"PCALL", 5) or starts(head, size, b"PLC", 3)
        )
    if c == 77:  # M
        return not (starts(head, size, b"MSG", 3) or starts(head, size, b"MCALL", 5) or starts(head, size, b"MDOFF", 5))
    if c == 68:
        return not (
            starts(head, size, b"DEBUG", 5) or starts(head, size, b"DGWZ", 4)
            or starts(head, size, b"DST", 3) or starts(head, size, b"DFHOLD", 6)
        )
    if c == 76:
        return not (starts(head, size, b"LOG", 3) or starts(head, size, b"LUP", 3))
    if c == 65:
        return not (starts(head, size, b"ABORT", 5) or starts(head, size, b"AXIS", 4))
    if c == 71:
        return not (starts(head, size, b"GOTO", 4) or starts(head, size, b"GUP", 3))
    if c == 73:
        return not starts(head, size, b"IF", 2)
    if c == 67:
        return not starts(head, size, b"CALL", 4)
    if c == 82:
        return not (
            starts(head, size, b"RPT", 3) or starts(head, size, b"RET", 3) or starts(head, size, b"REPOS", 5)
        )
    if c == 69:
        return not (
            starts(head, size, b"EXEC", 4) or starts(head, size, b"ERROR", 5) or starts(head, size, b"EDSTOP", 6)
            or starts(head, size, b"EST", 3) or starts(head, size, b"EFHOLD", 6)
        )
    if c == 83:
        return not (starts(head, size, b"SUB", 3) or starts(head, size, b"SSO", 3))
    if c == 79:
        return not (starts(head, size, b"OPENP", 5) or starts(head, size, b"ORG", 3))
    if c == 87:
        return not (starts(head, size, b"WRITE", 5) or starts(head, size, b"WBUF", 4))
    if c == 84:  # all but (TOOL ...) is looked at more closely
        return size < 2 or not (
            head[1] == 79 and not starts(head, size, b"TOOL", 4)
            or starts(head, size, b"TLF", 3) or starts(head, size, b"TMZT", 4)
        )
    if c == 70:
        return not starts(head, size, b"FRO", 3)
    if c == 75:
        return not starts(head, size, b"KEY", 3)
    return True


cdef bint is_remark(const u8* p, const u8* end) noexcept nogil:
    """Whether what stands behind a ; surely is wording: two letters that open nothing else; any doubt is a no."""
    cdef u8 head[HEAD]
    cdef int size = 0
    if not is_wording(p, end):
        return False
    while p < end:
        if p[0] == 59 or p[0] == 41 or p[0] == 91:
            return False
        if size < HEAD and p[0] != 32 and p[0] != 9:
            head[size] = upper(p[0])
            size += 1
        p += 1
    return size > 1 and 65 <= head[0] <= 90 and 65 <= head[1] <= 90 and not opens_statement(head, head + size)
