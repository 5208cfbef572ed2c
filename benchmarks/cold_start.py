"""What a first run compiles: ``python benchmarks/cold_start.py cases/paddle_100.toml``.

Runs a case in this process with an empty cache of its own and prints, as a Markdown table, every
kernel that the compiler was asked for: seconds of processor time without those of the kernels it
calls, and lines of the compiler's intermediate code.
"""

import os
import sys
import tempfile
import threading
import time
from collections import defaultdict

TOP = 25  # kernels of the table


def main(path):
    """Run a case from an empty cache; print the table."""
    with tempfile.TemporaryDirectory() as folder:
        os.environ["SIMSOFT_CACHE"] = folder
        begin, used = time.perf_counter(), time.process_time()
        rows = compiled_by(path)
        wall, whole = time.perf_counter() - begin, time.process_time() - used
    own = sum(seconds for seconds, _ in rows.values())
    lines = sum(count for _, count in rows.values())
    print(f"{path}: {wall:.1f} s, {whole:.1f} s of processor time in this process")
    print(f"{len(rows)} kernels, {own:.1f} s of processor time, {lines} lines\n")
    print("| kernel | own time [s] | lines |\n|---|--:|--:|")
    ordered = sorted(rows.items(), key=lambda row: -row[1][0])
    for name, (seconds, count) in ordered[:TOP]:
        print(f"| `{name}` | {seconds:.2f} | {count} |")


def compiled_by(path):
    """Return own seconds and lines by kernel of a run of the case at ``path``."""
    from numba.core import event

    from simsoft.case.read import load
    from simsoft.engine.run import run

    rows = defaultdict(lambda: (0.0, 0))
    stack = threading.local()

    class Listener(event.Listener):
        def on_start(self, event):
            frames = stack.__dict__.setdefault("frames", [])
            frames.append([time.thread_time(), 0.0])

        def on_end(self, event):
            begin, inner = stack.frames.pop()
            spent = time.thread_time() - begin
            if stack.frames:
                stack.frames[-1][1] += spent
            kernel = event.data["dispatcher"]
            function = kernel.py_func
            name = f"{function.__module__.removeprefix('simsoft.')}:{function.__name__}"
            count = sum(lines_of(found.library) for found in kernel.overloads.values())
            rows[name] = (rows[name][0] + spent - inner, max(rows[name][1], count))

    with event.install_listener("numba:compile", Listener()):
        run(load(path))
    return rows


def lines_of(library):
    """Return the number of lines of what the compiler has made of a kernel and those it calls."""
    return str(library._final_module).count("\n")


if __name__ == "__main__":
    main(sys.argv[1])
