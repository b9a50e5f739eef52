"""Checks of a program against its setup sheet and its machine: small rules over one shared run of the program.

How to write a rule
-------------------
1. Choose the family it belongs to: a module in ``rules/`` (``spindle.py``, ``cycle.py`` …), or a new one, named in
   ``registry.py``. A module ends with ``RULES``, a tuple of its `Rule` values.
2. Write a class on `tracker.checks.watch.Watch` with the hooks it needs, no more; hooks that are not overridden cost
   nothing. All of them get the live `Control`, never to be kept or changed:

   ==================== ============================================================================================
   ``begin(control)``   before the first block: sheet, machine and text are in ``self.subject``
   ``block``            a block is about to act (``control`` as it was)
   ``move`` ``event``   as in `tracker.machining.watch.Watcher`
   ``tool``             another tool has come into the spindle
   ``acted``            the block has acted
   ``stretch``          a row of plain blocks has acted: cutting moves that only name axes and F; first and last block,
                        letters named, extents
   ``end(control)``     after the run
   ==================== ============================================================================================

   Plain blocks reach a rule as `Stretch` only: a surface of 200,000 blocks then costs a rule nothing. A rule that must
   see each of their blocks and moves says ``plain = True``.
3. ``self.trail`` holds what many rules ask for: the tool, its change, the codes of this block, what was stated since.
4. Say ``self.found(block, message)`` where it trips: tool, line, file, machine and remedy are filled in. The message
   holds the number found, the number needed, and by how much. A finding that rests on something *not* being there
   (no S, no G43) goes through ``self.absent``: behind a call that was not followed nobody can say that.
5. Say ``self.unknown(why, block)`` where the rule cannot tell: a figure of sheet or machine that is not stated, a word
   by variable, G68 in force. Never pass in silence. What a run could not follow is said for every rule by itself.
6. Margins of a shop are keys of ``[checks]`` in shop.toml (`tracker.records.shop.Checks`, one row in
   ``records/fields.py``), in mm: ``self.margin(mm, control)`` gives them in the units of the run.
7. Give it an `Example`: a smallest program that trips it and one that is clean, made with `edited` from those in
   ``examples.py``. The tests try both, and the clean one in many spellings that mean the same; the page of ``explain``
   is made from the rule.

Severity: ``refuse`` (no release while it stands unwaived), ``warn`` (needs a look), ``info``. A false alarm is as bad as
a miss. Nothing here ever says that a program is safe.
"""
