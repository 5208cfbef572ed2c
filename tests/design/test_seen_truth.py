"""Synthetic truths: a bait whose inputs and model error are known is looked at, then changed.

Every draw is the truth in turn, the others are what is known. The look is the truth's own answer
with the model's error and the doubt of a look on it. Then the band of the changed bait must hold
the truth's own answer there: bands of 90 % in 90 of 100 truths, less two standard deviations of
the count.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import stats
from sweep_cases import PADDLE

from simsoft.case.observed import BY_EYE, Seen
from simsoft.case.read import from_tables
from simsoft.case.starter import starter
from simsoft.design.in_hand import _answers, _own, _Weights
from simsoft.design.scatter import scatter_of
from simsoft.design.sweep.run import read_base
from simsoft.design.tolerance import _sobol

SHARE, ENDS = 0.90, (0.05, 0.95)
ENOUGH = 20.0  # draws as good as equal ones, below which a band of 90 % cannot be told
# quantity, case, at what speed, what is changed afterwards, draws
KINDS = {
    "start_speed": (PADDLE, None, "parts.tail.thickness=1.7 mm", 512),
    "verdict": (PADDLE, 0.3, "parts.tail.thickness=1.7 mm", 512),
    "flap_frequency": (PADDLE, 0.6, "parts.tail.thickness=1.9 mm", 64),
    "stroke": (PADDLE, 0.6, "parts.tail.thickness=1.9 mm", 64),
    "sink_rate": (starter("lure"), None, "body.salt_fraction=9 %", 64),
    "cast_distance": (starter("lure"), None, "body.salt_fraction=9 %", 128),
}


def looked_at(path, sets, seen, count, directory):
    """Return case, part and the logarithms of the answer of every draw."""
    base = read_base(path, sets)
    case = from_tables(base.tables, base.text, base.name)
    inputs = scatter_of(case, base.tables)
    shares = np.vstack([np.full((1, len(inputs)), 0.5), _sobol(len(inputs), count, 7)])
    part, answers = _answers(base, case, seen, inputs, shares, directory, None, None)
    return case, part, answers


@pytest.mark.slow
@pytest.mark.parametrize("quantity", KINDS)
def test_bands_given_a_look_hold_the_truth(quantity, tmp_path, capsys):
    text, speed, change, count = KINDS[quantity]
    path = tmp_path / "bait.toml"
    path.write_text(text)
    word = "kicks" if quantity == "verdict" else None
    seen = Seen(quantity, None if word else 1.0, BY_EYE[quantity], "eye", word, speed=speed)
    case, part, here = looked_at(path, (), seen, count, tmp_path)
    _, _, there = looked_at(path, [change], seen, count, tmp_path)
    answer = "start_speed" if word else quantity
    centre, width = _own(case, part, answer)
    rng = np.random.default_rng(11)
    held, tried, widths = 0, 0, []
    usable = np.flatnonzero(np.isfinite(here) & np.isfinite(there))
    for j in usable[usable > 0]:
        error = centre + width * rng.normal()
        noise = math.log1p(BY_EYE[quantity]) * rng.normal()
        look = seen
        if word:
            word = "kicks" if here[j] + error < math.log(speed) + noise else "still"
            look = Seen(quantity, None, BY_EYE[quantity], "eye", word, speed=speed)
        else:
            value = math.exp(here[j] + error + noise)
            look = Seen(quantity, value, BY_EYE[quantity], "eye", speed=speed)
        others = np.array([0, *(k for k in usable if k not in (0, j))])
        weigh = _Weights(len(others))
        weigh.look(case, look, part, here[others])
        if not weigh.owns or weigh.effective < ENOUGH:
            continue  # refused, or too strange for so few draws
        middle, variance, _ = weigh.owns[answer]
        truth, moved = there[j] + error, there[others][weigh.origin]
        below = float(weigh.shares @ stats.norm.cdf((truth - moved - middle) / np.sqrt(variance)))
        held += ENDS[0] <= below <= ENDS[1]
        tried += 1
        widths.append(math.sqrt(float(np.average(variance, weights=weigh.shares))))
    least = SHARE - 2.0 * math.sqrt(SHARE * (1.0 - SHARE) / tried)
    with capsys.disabled():
        print(
            f"\n{quantity}: {held} of {tried} held, own error {width:.2f} -> {np.mean(widths):.2f}"
        )
    assert tried > 0.6 * (len(usable) - 1)
    assert held >= least * tried
