"""Synthetic bench data that several tests share."""

import math

import numpy as np

from simsoft.aquarium.bench.ringdown import FIRST_ROOT
from simsoft.aquarium.files.table import parse_table

STRIP = """title = "Lockside strip"
[material]
durometer = "50 OO"
[[parts]]
name = "tail"
kind = "strip"
length = "30 mm"
width = "6 mm"
thickness = "2 mm"
[[scenarios]]
name = "tank"
kind = "hold"
modes = 1
[numerics]
elements = 8
"""


def table(text, name="file.csv"):
    return parse_table(text, name)


def track_text(time, x, y, header="# view = below\n", columns="t_s,x_mm,y_mm"):
    rows = "\n".join(f"{a:.6f},{b:.5f},{c:.5f}" for a, b, c in zip(time, x, y, strict=True))
    return f"{header}{columns}\n{rows}\n"


def sine_rows(frequency, amplitude, seconds, rate, noise=0.0, seed=0, phase=0.3):
    """Return times [s] and a noisy sine [same unit as amplitude]."""
    time = np.arange(0.0, seconds, 1.0 / rate)
    wave = amplitude * np.sin(2.0 * math.pi * frequency * time + phase)
    return time, wave + noise * np.random.default_rng(seed).normal(size=len(time))


def ringdown_text(frequency, ratio, thickness, length, noise=0.02, seed=0, seconds=1.2, extra=""):
    """Return ringdown.csv of an undamped frequency [Hz]; sizes in mm."""
    time = np.arange(0.0, seconds, 1.0 / 240.0)
    angular = 2.0 * math.pi * frequency
    x = 2.0 * np.exp(-ratio * angular * time) * np.cos(angular * math.sqrt(1 - ratio**2) * time)
    x += noise * np.random.default_rng(seed).normal(size=len(time))
    head = f"# t_mm = {thickness}, L_mm = {length}, w_mm = 10, temp_C = 22{extra}\nt_s,x_mm\n"
    return head + "".join(f"{a:.6f},{b:.5f}\n" for a, b in zip(time, x, strict=True))


def frequency_of(modulus: float, length: float, thickness: float, density: float) -> float:
    """Return the first frequency [Hz] in air of a clamped uniform strip, see `modulus_of`."""
    root = math.sqrt(modulus / (12.0 * density))
    return FIRST_ROOT**2 / (2.0 * math.pi) * thickness / length**2 * root
