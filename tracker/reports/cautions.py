"""The sentences said wherever motion may follow: the same words everywhere, three lines on a terminal at the most.

The tool reads text and the numbers people typed, never the machine. It defers to the machine's manual, the
employer's procedure, local rules and licensed practice. What is said before a prove-out: `tracker.services.prove_words`.
"""

MOTION = (
    "Text checked, machine not. Follow the machine's manual, your employer's procedure and local safety rules: where "
    "they differ, they win. Keep guards and interlocks working; stop if anything looks different from the sheet."
)
NO_DIFFERENCE = "No difference found in code. Only the text was compared."
PRINTED = "Standing may have changed since; ask before loading."
RESTART = (
    "A start in the middle is only as good as its block: length and work offset, plane, spindle, G90 must all be "
    "set there."
)
MINUTES = "Minutes: at 100 %, without tool changes and rapids."
TRACE = "This shows what was released, exported and collected, not what the spindle ran."
