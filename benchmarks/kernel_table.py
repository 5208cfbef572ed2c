"""Write ``simsoft/core/kernels.json``: ``python benchmarks/kernel_table.py CASE ...``.

Every question of every case is asked in a process of its own, bands included, and the kernels that
it called are noted, with their types and the processor time that compiling them took. A kernel that
was in the cache keeps the time that stands in the table: start with an empty ``SIMSOFT_CACHE``, on
a machine with nothing else to do. Rows of questions that none of the cases asks stay as they are.
"""

import json
import subprocess
import sys
import threading
import time
from collections import defaultdict
from dataclasses import replace
from pathlib import Path

UNKNOWN = 1.0  # [s] of a kernel that was in the cache and not in the table
TABLE = Path(__file__).parents[1] / "simsoft" / "core" / "kernels.json"


def main(paths):
    """Ask every question of the cases; write the table."""
    from simsoft.case.read import load
    from simsoft.engine.jobs import jobs_of
    from simsoft.engine.kernels import CLEARANCE
    from simsoft.lure.parts import assemble

    rows = json.loads(TABLE.read_text()) if TABLE.exists() else []
    table = {(row["kernel"], _text(row["arguments"])): row for row in rows}
    asked = set()
    for path in paths:
        case = load(path)
        for number in range(-1, len(jobs_of(case, assemble(case)))):
            found = subprocess.run(
                [sys.executable, __file__, "--ask", path, str(number)],
                capture_output=True, text=True, check=True,
            )  # fmt: skip
            answer = json.loads(found.stdout)
            question = answer["question"]
            if not answer["kernels"]:  # a case without a paddle has no designs to screen
                continue
            if question not in asked:
                asked.add(question)
                for row in table.values():
                    row["for"] = [one for one in row["for"] if one != question]
            for name, arguments, seconds in answer["kernels"]:
                key = (name, _text(arguments))
                row = table.setdefault(key, {"kernel": name, "arguments": arguments, "for": []})
                row["seconds"] = round(seconds, 1) or row.get("seconds", UNKNOWN)
                asked_by = CLEARANCE if name.startswith("bodies.clearance.") else question
                row["for"] = sorted({*row["for"], asked_by})
            print(path, question, len(answer["kernels"]), flush=True)
    rows = sorted((row for row in table.values() if row["for"]), key=lambda row: row["kernel"])
    text = ",\n".join(json.dumps(row, sort_keys=True) for row in rows)
    TABLE.write_text(f"[\n{text}\n]\n")


def _text(arguments):
    """Return types as text that does not hang on the order in which they were written."""
    return json.dumps(arguments, sort_keys=True)


def ask(path, number):
    """Print which kernels one job of a case calls; those of its page's designs for -1."""
    from numba.core import event

    from simsoft.case.read import load
    from simsoft.core.signatures import text_of
    from simsoft.design.screened import screened
    from simsoft.engine import run as engine
    from simsoft.engine.jobs import jobs_of
    from simsoft.engine.kernels import SCREENING, question_of
    from simsoft.lure.parts import assemble

    case = load(path)
    taken = defaultdict(float)
    if number < 0:
        question = SCREENING
        with event.install_listener("numba:compile", clock(taken)):
            screened(case)
    else:
        job = jobs_of(case, assemble(case))[number]
        question = question_of(job)
        engine.jobs_of = lambda *_: [replace(job, twin=None)]
        with event.install_listener("numba:compile", clock(taken)):
            engine.run(case)
    kernels = []
    for name, kernel in called():
        for signature in kernel.overloads:
            kernels.append((name, [text_of(kind) for kind in signature], taken[kernel]))
    print(json.dumps({"question": question, "kernels": kernels}))


def clock(taken):
    """Return a listener that adds up processor time [s] by kernel that Python called."""
    from numba.core import event

    stack = threading.local()

    class Clock(event.Listener):
        def on_start(self, event):
            stack.__dict__.setdefault("begun", []).append(time.thread_time())

        def on_end(self, event):
            begun = stack.begun.pop()
            if not stack.begun:
                taken[event.data["dispatcher"]] += time.thread_time() - begun

    return Clock()


def called():
    """Yield name and dispatcher of every kernel of the package that Python has called."""
    from numba.core.dispatcher import Dispatcher

    for module in [m for name, m in sys.modules.items() if name.startswith("simsoft.")]:
        for found in vars(module).values():
            own = isinstance(found, Dispatcher) and found.__module__ == module.__name__
            if own and found.overloads:
                yield f"{module.__name__.removeprefix('simsoft.')}:{found.__name__}", found


if __name__ == "__main__":
    if sys.argv[1] == "--ask":
        ask(sys.argv[2], int(sys.argv[3]))
    else:
        main(sys.argv[1:])
