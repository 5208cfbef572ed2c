"""Is the beat what the samples show, or an image of a faster one?

Evenly spaced frames at a rate r show a beat f and one at k r - f or k r + f alike. Only uneven
stamps, or knowing that no tail beats that fast, tells them apart.
"""

from __future__ import annotations

import numpy as np

from simsoft.aquarium.measured import Flag
from simsoft.aquarium.signal.sine import fit
from simsoft.core.arrays import Array

FASTEST = 30.0  # [Hz], no soft tail beats faster (common practice, no source; claws reach 15)
FRAMES_PER_BEAT = 8.0
MOST_IMAGES = 40  # faster beats tried; more than that no stamps tell apart
ALIKE = 1.5  # a fit whose residual variance is within this factor explains the samples as well


def images(frequency: float, rate: float, fastest: float) -> list[float]:
    """Return the faster frequencies [Hz] that samples at ``rate`` [Hz] show as ``frequency``."""
    found = []
    for k in range(1, min(int(fastest / rate), MOST_IMAGES) + 2):
        found += [f for f in (k * rate - frequency, k * rate + frequency) if f > frequency]
    return sorted(f for f in found if f <= fastest)


def resolve_alias(
    time: Array, signal: Array, frequency: float, fastest: float = FASTEST
) -> tuple[float, list[Flag]]:
    """Return the frequency [Hz] the samples speak for, and what is doubtful about it.

    Parameters
    ----------
    time : array (N,) [s]
    signal : array (N,)
    frequency : float [Hz], found below half the frame rate
    fastest : float [Hz], the fastest a tail may beat
    """
    rate = 1.0 / float(np.median(np.diff(time)))
    flags: list[Flag] = []
    own = fit(time, signal, frequency, harmonics=1)
    best, least = frequency, own.noise
    alike: list[float] = []
    faster = images(frequency, rate, fastest)
    if len(faster) > MOST_IMAGES:
        text = f"at {rate:.3g} frames/s more than {MOST_IMAGES} faster beats would look the same"
        return frequency, [Flag("alias", f"{text}; is the time in another unit?")]
    for image in faster:
        other = fit(time, signal, image, harmonics=1)
        if other.noise**2 * ALIKE < least**2:
            best, least, alike = other.frequency, other.noise, []
        elif other.noise**2 <= ALIKE * least**2:
            alike.append(image)
    if alike:
        shown = " or ".join(f"{f:.3g}" for f in alike[:3])
        flags.append(
            Flag(
                "alias",
                f"at {rate:.3g} frames/s a beat of {shown} Hz would look the same; film at "
                f"{max(120.0, 2.0 * fastest):.0f} frames/s, or state the fastest possible beat",
            )
        )
    elif best != frequency:
        flags.append(
            Flag(
                "resolved",
                f"beats faster than half of {rate:.3g} frames/s, told apart by uneven stamps",
                severe=False,
            )
        )
    if rate / best < FRAMES_PER_BEAT:
        flags.append(
            Flag(
                "few-frames",
                f"{rate / best:.3g} frames per beat, {FRAMES_PER_BEAT:.0f} are needed; film at "
                f"{FRAMES_PER_BEAT * best:.0f} frames/s or more",
            )
        )
    return best, flags
