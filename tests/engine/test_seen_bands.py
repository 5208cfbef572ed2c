"""Synthetic truths behind a look: the bands that a run is left with hold them.

The truth's inputs are drawn from their bands, its model error from what the band adds for it. Its
start is solved by screening at those inputs, in the water of the look and, for a thinner stem, in
the colder water of the case. The run sees the look only.
"""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest

from simsoft.case.observed import BY_EYE, Seen
from simsoft.case.read import loads
from simsoft.engine.run import run
from simsoft.engine.seen import as_seen, with_seen
from simsoft.engine.uncertainty import MODEL_ERROR
from simsoft.lure.parts import assemble, values_of
from simsoft.properties.material import DEFAULTS
from simsoft.results.record import select
from simsoft.scenarios.screening import screen_paddle

TEXT = """
title = "Bait in hand"
[water]
temperature = "10 degC"
[material]
durometer = "46 OO"
[[parts]]
name = "tail"
kind = "paddle-tail"
length = "11 mm"
width = "4 mm"
thickness = "2 mm"
paddle_diameter = "15 mm"
paddle_thickness = "3 mm"
paddle_offset = "5 mm"
[numerics]
elements = 6
[[scenarios]]
name = "stream"
kind = "retrieve"
speed = ["0.5 m/s"]
max_speed = "2 m/s"
march = false
[[seen]]
quantity = "start_speed"
value = "0.3 m/s"
by = "eye"
temperature = "21 degC"
"""
TRUTHS, SHARE, DEVIATE = 200, 0.90, 1.6449
LIMIT = 0.3  # [m/s] where a verdict is seen


def drawn(band, z):
    """Return a value of a band: its ends are one standard deviation."""
    if band.low > 0.0:
        side = math.log(band.high / band.value) if z > 0.0 else math.log(band.value / band.low)
        return band.value * math.exp(z * side)
    return band.value + z * (band.high - band.value if z > 0.0 else band.value - band.low)


def truth_of(case, deviates, cold):
    """Return the screened start of a case at drawn inputs, None where it has none."""
    lure = assemble(case)
    strip = lure.strips[0]
    values = {name: drawn(band, deviates[name]) for name, band in strip.inputs.items()}
    band, slope = strip.inputs["modulus"], DEFAULTS.slope_scatter
    warmer = case.water.temperature - DEFAULTS.reference_temperature
    pour = math.sqrt((0.5 * math.log(band.high / band.low)) ** 2 - (slope * warmer) ** 2)
    values["modulus"] = band.value * math.exp(pour * deviates["modulus"] - slope * warmer * cold)
    found = screen_paddle(strip, lure.water, values_of(strip, **values), case.scenarios[0])
    return found.answers["start_speed", ()].value


@pytest.mark.slow
@pytest.mark.parametrize("quantity", ["start_speed", "verdict"])
def test_bands_given_a_look_hold_the_truth(quantity):
    case = loads(TEXT, "bait.toml", ["parts.tail.thickness=1.7 mm"])
    asked = as_seen(loads(TEXT), case.seen[0])
    runs = {
        here.water.temperature: run(here) for here in (asked, dataclasses.replace(case, seen=()))
    }
    plain = dataclasses.replace(runs[case.water.temperature], case=case)
    rng = np.random.default_rng(3)
    low, high = (math.log(end) for end in MODEL_ERROR["start_speed"])
    held, tried, ratios = 0, 0, []
    before = select(plain.records, "start_speed")[0]
    for _ in range(TRUTHS):
        deviates = {name: rng.normal() for name in assemble(case).strips[0].inputs}
        cold, own = rng.normal(), 0.5 * (low + high) + 0.5 * (high - low) * rng.normal()
        noise = math.log1p(BY_EYE[quantity]) * rng.normal()
        starts = [truth_of(here, deviates, cold) for here in (asked, case)]
        if None in starts:
            continue
        first, then = (start * math.exp(own) for start in starts)
        look = Seen("start_speed", first * math.exp(noise), BY_EYE[quantity], "eye",
                    temperature=asked.water.temperature)  # fmt: skip
        if quantity == "verdict":
            word = "kicks" if first < LIMIT * math.exp(noise) else "still"
            look = Seen("verdict", None, BY_EYE[quantity], "eye", word, speed=LIMIT,
                        temperature=asked.water.temperature)  # fmt: skip
        here = dataclasses.replace(plain, case=dataclasses.replace(case, seen=(look,)))
        found = with_seen(here, lambda other: runs[other.water.temperature])
        if found.looks[0].taken == "refused":
            continue
        after = select(found.records, "start_speed")[0]
        middle = 0.5 * math.log(after.low * after.high)
        width = 0.5 * math.log(after.high / after.low)
        held += abs(math.log(then) - middle) <= DEVIATE * width
        tried += 1
        ratios.append(width / (0.5 * math.log(before.high / before.low)))
    print(f"\n{quantity}: {held} of {tried} held, width {np.median(ratios):.2f} of before")
    assert tried > 0.7 * TRUTHS
    assert held >= (SHARE - 2.0 * math.sqrt(SHARE * (1.0 - SHARE) / tried)) * tried
