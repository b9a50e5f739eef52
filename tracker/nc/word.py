"""Words: a letter with its number, and everything else a block can hold.

A `Word` has the canonical spelling. What its ``letter`` can be:

=============== ============================================ ====================================
letter          what                                         number / text
=============== ============================================ ====================================
``A`` … ``Z``   a word                                       ``-1.5`` / ``X-1.5``; ``[#1+2]`` / ``X[#1+2]``
``N``, ``P`` …  a renamed label or a jump to one             ``=1`` / ``N=1``
``,C ,R ,A``    chamfer, corner, angle                       ``5.`` / ``,C5.``
``:``           program number                               ``1234`` / ``:1234``
``/``           block skip                                   ``2`` or empty / ``/2``
``#``           assignment; number is what is assigned       ``#2+1`` / ``#1=#2+1``
``IF`` and      keyword statement (IF THEN ELSE ENDIF GOTO   ``10`` / ``GOTO10``
other keywords  WHILE DO END, and after an O word SUB CALL   ``[#1EQ0]`` / ``IF[#1EQ0]``
                …; DPRNT and its like with the rest          the rest of the line, to the letter
``[``           a bare expression (argument of an O call)    ``1`` / ``[1]``
``"``           text in quotes or < >                        empty / the text with its quotes
``(`` ``;``     comment that counts as code                  empty / the comment
``%``           ``%`` with what follows it                   what follows / all of it
empty           a block that does not read as words          empty / the whole block
=============== ============================================ ====================================
"""

from tracker.nc.item import Word
from tracker.nc.reader import careful_line

__all__ = ["Word", "words"]


def words(block: str) -> tuple[Word, ...]:
    """The words of one block, canonical or as written; an N in it is a word like any other.

    Comments that are only wording are left out, as in the canonical form.
    """
    return careful_line(block, renamed=True).words
