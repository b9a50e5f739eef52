"""``python -m tracker`` is the console script."""

import sys

from tracker.cli.entry import main

if __name__ == "__main__":
    sys.exit(main())
