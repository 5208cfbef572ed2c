"""How fast a clip is measured: ``pytest benchmarks/test_film_speed.py``; time beside its target."""

import subprocess
import sys
import time
from dataclasses import replace

import numpy as np
from workloads import ROOT

from simsoft.validate.studies.film import TAILS
from simsoft.validate.studies.film_clip import Tank, encode, render

SECONDS, RATE = 10, 120
TARGET = 20.0  # [s] of wall time on two cores, the whole command
NOISE = 4.5  # [grey levels]; makes some 50 Mbit/s, as phones write


def clip(path):
    """Write ten seconds of 1080p; one second is drawn, its frames stand in ten times over."""
    tail = TAILS["paddle"]
    motion = tail.marched()
    # whole beats in the second that is repeated
    looped = replace(motion, frequency=float(round(motion.frequency)))
    tank = Tank(rate=RATE, seconds=1.0, scale=0.04e-3, width=1920, height=1080, noise=NOISE)
    frames, _ = render(looped, tank)
    assert frames.shape == (RATE, 1080, 1920)
    every = [frames[i % RATE] for i in range(SECONDS * RATE)]
    encode(every, np.arange(len(every)) / RATE, path, rate=RATE)
    return tank, looped.frequency


def test_ten_seconds_of_full_definition(tmp_path, capsys):
    """The whole command, start-up included."""
    path = tmp_path / "clip.mp4"
    tank, rate = clip(path)
    words = [sys.executable, "-m", "simsoft", "measure", str(path), "--view", "below"]
    words += ["--scale", f"{1e3 * tank.scale} mm", "--quiet"]
    begun = time.perf_counter()
    found = subprocess.run(words, capture_output=True, text=True, check=True, cwd=ROOT)
    seconds = time.perf_counter() - begun
    with capsys.disabled():
        print(f"\n{path.stat().st_size / 1e6:.0f} MB: {seconds:.3g} s, target {TARGET:g} s")
        print(found.stdout)
    assert f"{rate:g}" in found.stdout
    assert seconds < 3.0 * TARGET
