"""How fast this machine is, so that a limit of time is a ratio in one run and holds on any."""

import time


def loop_seconds():
    """Return the processor time [s] of a fixed loop of plain Python, the least of three."""
    taken = []
    for _ in range(3):
        begun = time.process_time()
        total = 0
        for i in range(1_000_000):
            total += i * i
        taken.append(time.process_time() - begun)
    return min(taken)
