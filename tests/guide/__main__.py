"""Make the made blocks of README and guide again: ``python -m tests.guide``.

``--fast`` leaves the answers, which take a run each, as they are.
"""

import argparse

from .made import renewed
from .pages import PAGES


def main():
    """Write every page whose made blocks have changed, and name it."""
    parser = argparse.ArgumentParser(prog="python -m tests.guide", description=__doc__)
    parser.add_argument("--fast", action="store_true", help="tables only, no runs")
    options = parser.parse_args()
    for path in PAGES:
        text = path.read_text(encoding="utf-8")
        new = renewed(text, slow=not options.fast)
        if new != text:
            path.write_text(new, encoding="utf-8")
            print(f"wrote {path.name}")


if __name__ == "__main__":
    main()
