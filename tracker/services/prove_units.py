"""In which units a length of a prove-out is asked for: those of the sheet, else of the main program's own codes.

Where neither says them nobody names any. The record holds the bare figure; the revision it is of says the units.
"""

from tracker.services.drafting import units_of
from tracker.services.revision_text import RevisionText


def units_of_text(text: RevisionText) -> str | None:
    """``inch`` or ``mm``, or None where neither the sheet nor the main program says one of them."""
    if text.operation is not None and text.operation.units is not None:
        return text.operation.units
    main = text.record.files[0].path if text.record.files else None
    data = next((program.data for program in text.programs if program.path == main), None)
    return units_of(data) if data is not None else None
