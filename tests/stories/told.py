"""A story of the trade: its commands, in order, and what the answers must say.

A story is a shell script beside a case of the same name. Below each command, ``# answers: WORDS``
is a regular expression that a line of its answer must match; ``# lacks: TEXT`` says what simsoft
does not answer.
"""

import os
import re
import shlex
import shutil
import subprocess
import sys
import time
from pathlib import Path
from typing import NamedTuple

HERE = Path(__file__).parent
STORIES = sorted(HERE.glob("*.sh"))


class Step(NamedTuple):
    """One command of a story: its words after the program's name, what a line must match."""

    words: tuple[str, ...]
    answers: tuple[str, ...]


class Answered(NamedTuple):
    """A step that was run: exit status, text on both streams, seconds."""

    step: Step
    status: int
    out: str
    err: str
    seconds: float

    def matching(self, pattern):
        """Return the first line of the answer that matches, None where none does."""
        found = (line.strip() for line in self.out.splitlines() if re.search(pattern, line))
        return next(found, None)


def told(path):
    """Return the headline of a story, its steps, and what it says is lacking."""
    headline, steps, lacks = "", [], []
    for line in path.read_text(encoding="utf-8").replace("\\\n", " ").splitlines():
        mark, _, rest = line.partition(": ")
        if mark == "# answers":
            steps[-1] = steps[-1]._replace(answers=(*steps[-1].answers, rest))
        elif mark == "# lacks":
            lacks.append(rest)
        elif line.startswith("#"):
            headline = headline or line.removeprefix("# ")
        elif line.strip():
            program, *words = shlex.split(line)
            assert program == "simsoft"
            steps.append(Step(tuple(words), ()))
    return headline, steps, lacks


def lived(path, folder):
    """Yield each step of a story as it is answered, run in a folder that holds its case."""
    shutil.copy(path.with_suffix(".toml"), folder)
    places = [str(HERE.parents[1]), os.environ.get("PYTHONPATH", "")]
    environment = os.environ | {"PYTHONPATH": os.pathsep.join(filter(None, places))}
    for step in told(path)[1]:
        began = time.perf_counter()
        done = subprocess.run(
            [sys.executable, "-m", "simsoft", *step.words],
            cwd=folder, env=environment, capture_output=True, text=True, check=False,
        )  # fmt: skip
        seconds = time.perf_counter() - began
        yield Answered(step, done.returncode, done.stdout, done.stderr, seconds)
