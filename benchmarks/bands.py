"""What the short way to the bands saves and moves: ``python benchmarks/bands.py CASE ...``.

Runs each case twice, marches behind the bands going on from the unmoved beat and every one anew,
and prints processor time and steps of both, and the bands that lie farthest apart.
"""

import sys
import threading
import time

from simsoft.bodies.rod import time_march
from simsoft.case.read import load
from simsoft.engine.run import run

FARTHEST = 6  # bands that are shown


def main(paths):
    """Print the tables of the cases."""
    steps = counted()
    print("| case | way | processor time [s] | wall [s] | marches of rods | steps |")
    print("|---|---|--:|--:|--:|--:|")
    told = []
    for path in paths:
        found = {}
        for way, anew in (("anew", True), ("short", False)):
            steps.clear()
            used, begun = time.process_time(), time.perf_counter()
            found[way] = run(load(path), anew=anew).records
            times = f"{time.process_time() - used:.1f} | {time.perf_counter() - begun:.1f}"
            print(f"| `{path}` | {way} | {times} | {len(steps)} | {sum(steps)} |", flush=True)
        told += [(path, row) for row in farthest(found["anew"], found["short"])]
    print("\n| case | quantity | value | band anew | band now | shift over width |")
    print("|---|---|--:|--:|--:|--:|")
    for path, (shift, record, now) in told:
        at = ", ".join(f"{name} {value}" for name, value in record.at.items())
        bands = " | ".join(f"{r.low:.4g} to {r.high:.4g}" for r in (record, now))
        what = f"{record.part} {record.quantity} {at}"
        print(f"| `{path}` | {what} | {record.value:.4g} | {bands} | {shift:.3f} |")


def counted():
    """Return a list that gets the number of steps of every march of a rod from now on."""
    steps, lock, march = [], threading.Lock(), time_march.march_rod

    def counting(*args, **named):
        found = march(*args, **named)
        with lock:
            steps.append(round(found.time[-1] / found.step))
        return found

    time_march.march_rod = counting
    return steps


def farthest(before, after):
    """Return shift over width, record before and record after of the bands farthest apart."""
    now = {(r.scenario, r.part, r.quantity, tuple(r.at.items())): r for r in after}
    rows = []
    for record in before:
        other = now.get((record.scenario, record.part, record.quantity, tuple(record.at.items())))
        ends = (record.low, record.high) + ((None,) if other is None else (other.low, other.high))
        if not all(isinstance(end, float) for end in ends):
            continue
        width = record.high - record.low
        if width > 0.0:
            shift = max(abs(other.low - record.low), abs(other.high - record.high)) / width
            rows.append((shift, record, other))
    return sorted(rows, key=lambda row: -row[0])[:FARTHEST]


if __name__ == "__main__":
    main(sys.argv[1:])
