"""Compare the golden numbers, or write them again.

``python -m tests.golden [NAME ...]`` compares, ``--write`` writes; without names all of them.
"""

import argparse
import time

from .cases import GOLDEN
from .records import differences, path_of, read, records_of, write


def main():
    """Compare or write the golden cases named on the command line."""
    parser = argparse.ArgumentParser(prog="python -m tests.golden", description=__doc__)
    parser.add_argument("names", nargs="*", choices=[*GOLDEN, []], metavar="NAME")
    parser.add_argument("--write", action="store_true", help="keep the numbers found now")
    options = parser.parse_args()
    failed = False
    for name in options.names or GOLDEN:
        started = time.process_time()
        found = records_of(*GOLDEN[name].asked)
        took = time.process_time() - started
        changed = differences(*_kept(name, found)) if path_of(name).exists() else ["new"]
        print(f"{name}: {len(found)} records, {took:.1f} s, {len(changed)} differences")
        print(*(f"  {line}" for line in changed), sep="\n", end="\n" if changed else "")
        failed = failed or bool(changed)
        if options.write:
            write(name, found)
    return int(failed and not options.write)


def _kept(name, found):
    kept, tolerance = read(name)
    return kept, found, tolerance


if __name__ == "__main__":
    raise SystemExit(main())
