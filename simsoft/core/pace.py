"""How slow this machine is just now, beside one with nothing else to do whose times are known."""

from __future__ import annotations

import os
import time

# What is compiled to see how fast the processor is; it must stay as it is, for REFERENCE's sake.
TEXT = "".join(
    f"def f{k}(a, b):\n"
    "    for i in range(a):\n"
    f"        b = b * a + {k} if i % 3 else [b, a]\n"
    "    return b\n"
    for k in range(60)
)
# [s] of processor time where kernels take what `kernels.json` says; computed here, beside a kernel
# of 2.6 s in the table that took 2.7 s.
REFERENCE = 2.3e-3
TRIES = 5


def slowness(cores: int) -> float:
    """Return how many times longer work on all cores takes now than on the machine of the table.

    The processor's speed is that of a short fixed loop. Other work shares the cores: as the load
    of the last minute says, or as the loop's own waiting does, whichever is more.
    """
    begun, spent = time.monotonic(), []
    for _ in range(TRIES):
        start = time.process_time()
        compile(TEXT, "pace", "exec")
        spent.append(time.process_time() - start)
    waited = (time.monotonic() - begun) / max(sum(spent), 1e-9)
    load = os.getloadavg()[0] if hasattr(os, "getloadavg") else 0.0
    return max(min(spent) / REFERENCE, 1e-3) * max(1.0, waited, 1.0 + load / cores)
