"""``python -m tracker`` is the console script."""

import sys

from tracker.cli.entry import script

if __name__ == "__main__":
    sys.exit(script())
