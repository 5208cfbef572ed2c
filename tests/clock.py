"""How fast this machine is, so that a limit of time is a ratio in one run and holds on any."""

import time

USUAL_LOOP = 0.05  # [s] that the loop takes on the machine that limits in seconds were set on


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


def slower():
    """Return how many times slower this machine is than the usual one, at least one."""
    return max(1.0, loop_seconds() / USUAL_LOOP)
