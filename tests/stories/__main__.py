"""Live the stories and print their table: ``python -m tests.stories [NAME ...]``."""

import argparse
import shlex
import tempfile
from pathlib import Path

from .told import STORIES, lived, told


def main():
    """Print a row a command: seconds on this machine, and the line of its answer that decides."""
    parser = argparse.ArgumentParser(prog="python -m tests.stories", description=__doc__)
    parser.add_argument("names", nargs="*", metavar="NAME")
    chosen = parser.parse_args().names or [path.stem for path in STORIES]
    print("| story | command | s | line that decides |\n| --- | --- | --- | --- |", flush=True)
    for path in STORIES:
        if path.stem not in chosen:
            continue
        headline = told(path)[0].partition(":")[0]
        with tempfile.TemporaryDirectory() as folder:
            for answered in lived(path, Path(folder)):
                found = [answered.matching(pattern) for pattern in answered.step.answers]
                line = (found and found[-1]) or f"NOT AS TOLD (exit {answered.status})"
                words = shlex.join(answered.step.words).replace("|", "\\|")
                print(f"| {headline} | `{words}` | {answered.seconds:.0f} | {line} |", flush=True)


if __name__ == "__main__":
    main()
