"""What one kind of measurement teaches of a tail: 95 % bands of all inputs hold 90 of 100 times.

Truth is drawn from the priors, the solver answers, the command's own inference reads it back. A
trial in which the command itself says that its fast model is off, and not to use the values, is
counted apart; more than a few of those would be a failure too.
"""

import math

import numpy as np
import pytest
from scipy import stats

from simsoft.aquarium.compare import as_measured
from simsoft.aquarium.inference.calibrate import has_paddle, relative_scatter
from simsoft.aquarium.inference.forward import build_surrogate, predicted_logs, priors
from simsoft.aquarium.inference.posterior import corrected_posterior, disagreements
from simsoft.aquarium.measured import Measured
from simsoft.case.read import loads
from simsoft.lure.parts import assemble, values_of
from simsoft.report.text.calibration import POOR

HEAD = 'title = "Sluice tail"\n[material]\ndurometer = "50 OO"\n[[parts]]\nname = "tail"\n'
RUN = (
    '[[scenarios]]\nname = "run"\nkind = "retrieve"\nspeed = "0.5 m/s"\n[numerics]\nelements = 12\n'
)
RIBBON = 'kind = "ribbon"\nlength = "40 mm"\nwidth = "6 mm"\nthickness = "1 mm"\n'
PADDLE = """kind = "paddle-tail"
length = "26 mm"
width = "6 mm"
thickness = "2.5 mm"
paddle_diameter = "14 mm"
paddle_thickness = "3 mm"
paddle_offset = "5 mm"
"""
CLAW = 'kind = "claw"\nmodel = "plate"\nlength = "25 mm"\nwidth = "12 mm"\nthickness = "1.5 mm"\n'
HELD = '[[scenarios]]\nname = "tank"\nkind = "hold"\nmodes = 1\n'
START = Measured("start_speed", 1.0, 0.03, "m/s", "ramp", 3, {}, (), "run")
STROKE = Measured("stroke", 1.0, 0.03, "m", "film", 10, {"speed": 0.5}, (), "run")
FLICK = Measured(
    "natural_frequency", 1.0, 0.03, "Hz", "flick", 5, {"mode": 1, "medium": "water"}, (), "flick"
)


@pytest.mark.slow
@pytest.mark.parametrize(
    ("text", "measured", "learned"),
    [
        (HEAD + RIBBON + RUN, START, ("modulus", 0.8)),
        (HEAD + PADDLE + HELD, FLICK, ("modulus", 0.8)),
        (HEAD + CLAW + HELD, FLICK, ("modulus", 0.8)),
    ],
    ids=["ribbon start speed", "paddle natural frequency", "plate natural frequency"],
)
def test_one_measurement_recovers_the_inputs(text, measured, learned):
    case = loads(text)
    fitted = as_measured(case, [measured])
    strip = assemble(fitted).strips[0]
    prior = priors(strip)
    names = tuple(prior)
    fast = build_surrogate(case, [measured])
    scatter = np.array([relative_scatter(measured, paddle=has_paddle(case))])

    def exact(z):
        moved = {name: one.value(float(x)) for (name, one), x in zip(prior.items(), z, strict=True)}
        return predicted_logs(fitted, strip, [measured], values_of(strip, **moved))

    rng = np.random.default_rng(3)
    inside, used, refused, alarms, spreads = np.zeros(len(names)), 0, 0, 0, []
    # spread evenly, so that an input about which the data say nothing is held as its prior holds it
    spread_out = stats.qmc.LatinHypercube(len(names), seed=3).random(112)
    for z in np.clip(stats.norm.ppf(spread_out), -2.5, 2.5):
        if used == 100:
            break
        data = exact(z) + scatter * rng.normal(size=1)
        if not np.isfinite(data).all():
            continue
        found, error = corrected_posterior(names, fast, exact, data, scatter)
        if not error <= POOR:
            refused += 1
            continue
        used += 1
        alarms += bool(disagreements(found, {}))
        spreads.append(found.spread)
        for i, one in enumerate(prior.values()):
            low, high = (one.value(found.mean[i] + s * 1.96 * found.spread[i]) for s in (-1, 1))
            inside[i] += low <= one.value(z[i]) <= high
    told = dict(zip(names, inside, strict=True))
    assert min(told.values()) >= 90, told
    assert used == 100
    assert refused <= 10
    assert alarms <= 10
    spread = dict(zip(names, np.median(spreads, axis=0), strict=True))
    assert spread[learned[0]] < learned[1]
    assert math.isfinite(sum(spread.values()))
