"""What a block does: modal words, offsets, motion, in the order of NISTIR 6556 (2000), section 3.8, Table 8.

`Act` keeps what is in force and hands moves and events to those who watch. It does one block at a time; which block
comes next is not its business. The parts are in modules of their own: `tracker.machining.modes` (what stays in force),
`shifts` (offsets and coordinate systems), `homing`, `drilling`, `arc_motion`.
"""

from tracker.machining import arc_motion, drilling, homing, modes, shifts, turning
from tracker.machining.acting import Acting
from tracker.machining.block_words import Words
from tracker.machining.doubts import MORE_WORDS, may_call, name_codes, name_words, unfollowed_motion
from tracker.machining.feeds import INVERSE, PER_REVOLUTION
from tracker.machining.said import Said
from tracker.machining.watch import FEED, RAPID, Block


class Act(Acting):
    """Does block after block."""

    def act(self, block: Block, said: tuple[Said, ...]) -> None:
        """Do a block whose words have been resolved to figures."""
        self.block = block
        self.words = words = Words(said)
        if words.wild is not None:
            self.name(words.wild, "a figure no machine has")
        taken = False
        if "L" in words and may_call(self, words):
            return
        if words.g or words.m or words.any_of(modes.PLAIN_WORDS):
            modes.set_modes(self, words)
            taken = name_codes(self, words) | modes.waits(words)
        if self.control.feed_mode == INVERSE and "F" not in words:
            self.control.feed = None
        if not taken and not shifts.acts(self, words) and not homing.acts(self, words):
            self._motion(words)
        if words.m:
            modes.stop(self, words)

    def _motion(self, words: Words) -> None:
        """The motion in force with the axis words of the block."""
        if self.control.lathe:
            if turning.acts(self, words):
                return
        elif words.any_of(MORE_WORDS):
            name_words(self, words)
        code = self.control.motion
        if code in drilling.CYCLES:
            if words.has_axes() or any(one in drilling.CYCLES for one in words.g):
                drilling.drill(self, words, code)
            return
        if code in ("2", "3"):
            if words.has_axes() or words.any_of("IJK"):
                arc_motion.arc(self, words, clockwise=code == "2")
            return
        if not words.has_axes():
            return
        if code in ("0", "1"):
            targets = self.targets()
            self.line(RAPID if code == "0" else FEED, "G" + code, targets, steps=self.steps(targets))
        elif code == "33":
            self._thread(words)
        else:
            unfollowed_motion(self, code)

    def _thread(self, words: Words) -> None:
        """G33 of a mill: its lead per revolution is K (LinuxCNC documentation), or F (macro-type controls, from memory)."""
        control = self.control
        before = control.feed_mode, control.feed
        lead = self.length("K") if "K" in words else self.length("F") if "F" in words else None
        control.feed_mode, control.feed = PER_REVOLUTION, lead
        targets = self.targets()
        self.line(FEED, "G33", targets, steps=self.steps(targets))
        control.feed_mode, control.feed = before
