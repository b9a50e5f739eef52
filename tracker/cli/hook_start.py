"""What the hooks start, with the folder of this package and nothing else in the path of modules (``-I -S``).

git waits for a hook, so everything a short call can do without is left out: the search for packages that were
installed beside this one, collecting garbage, and taking down modules at the end one by one.
"""

import gc
import os
import sys

gc.disable()
if sys.platform == "win32":  # the time zones come as a package there
    import site

    site.main()
elif os.path.isdir("/usr/share/zoneinfo"):  # noqa: PTH112
    # where Python looks for time zones anyway; asking its build settings takes as long as deciding
    os.environ.setdefault("PYTHONTZPATH", "/usr/share/zoneinfo")
sys.path.append(os.path.dirname(os.path.dirname(os.path.dirname(os.path.abspath(__file__)))))  # noqa: PTH100, PTH120

if __name__ == "__main__":
    from tracker.cli.entry import main

    status = main()
    if sys.stderr is not None:
        sys.stderr.flush()
    os._exit(status)
