"""Start, beat and stroke of one tail read together: the widened bands hold 90 of 100 truths.

The command's own `calibrate` reads back what the solver answers at known inputs; only its fast
model is made once and not a second time about the values found, which would take minutes. Truths
are spread evenly over the priors (a Latin hypercube), so that an input about which the data say
nothing is held as often as its prior holds it and not as luck has it.
"""

import json
import math
from dataclasses import replace

import numpy as np
import pytest
from scipy import stats
from test_evidence import HEAD, PADDLE, RIBBON, RUN, START

from simsoft.aquarium.compare import as_measured
from simsoft.aquarium.inference import calibrate as module
from simsoft.aquarium.inference.calibrate import (
    calibrate_designs,
    has_paddle,
    joint,
    relative_scatter,
)
from simsoft.aquarium.inference.forward import Surrogate, build_surrogate, predicted_logs, priors
from simsoft.aquarium.inference.posterior import corrected_posterior
from simsoft.aquarium.measured import Measured
from simsoft.case.read import loads
from simsoft.cli import main as cli
from simsoft.lure.parts import assemble, values_of
from simsoft.report.text.calibration import POOR, poor_model

COARSE = RUN.replace("elements = 12", "elements = 8")  # truth and solver are the same either way
BEAT = Measured("flap_frequency", 1.0, 0.03, "Hz", "film", 10, {"speed": 0.5}, (), "run")
FAST_BEAT = replace(BEAT, at={"speed": 1.6})  # a ribbon starts late


def truths(count, trials):
    spread = stats.qmc.LatinHypercube(count, seed=3).random(trials)
    return np.clip(stats.norm.ppf(spread), -2.5, 2.5)


@pytest.mark.slow
@pytest.mark.parametrize(
    ("text", "measured", "trials", "learned"),
    [
        (HEAD + RIBBON + COARSE, (START, FAST_BEAT), 100, ("modulus", 0.95)),
    ],
    ids=["ribbon start and beat"],
)
def test_bands_hold_or_the_fit_is_refused(monkeypatch, text, measured, trials, learned):
    case = loads(text)
    fitted = as_measured(case, measured)
    strip = assemble(fitted).strips[0]
    prior = priors(strip)
    once = build_surrogate(case, measured)
    monkeypatch.setattr(module, "build_surrogate", lambda *_: once)
    monkeypatch.setattr(module, "SURROGATE_LIMIT", math.inf)
    scatter = np.array([relative_scatter(m, paddle=has_paddle(case)) for m in measured])
    noise = np.random.default_rng(3)
    inside, used, refused, dead, spreads = np.zeros(len(prior)), 0, 0, 0, []
    for z in truths(len(prior), trials):
        moved = {name: one.value(float(x)) for (name, one), x in zip(prior.items(), z, strict=True)}
        data = predicted_logs(fitted, strip, measured, values_of(strip, **moved))
        data = np.exp(data + scatter * noise.normal(size=len(data)))
        if not np.isfinite(data).all():
            dead += 1  # a tail that has no start or does not beat there: nothing to measure
            continue
        seen = [replace(m, value=float(x), u=0.03 * float(x))
                for m, x in zip(measured, data, strict=True)]  # fmt: skip
        found = calibrate_designs([(case, seen)])
        assert joint(found.rows)
        if poor_model(found):
            assert found.surrogate_error > POOR
            assert "do not use them" in poor_model(found)[0]
            refused += 1
            continue
        used += 1
        spreads.append(found.posterior.spread)
        for i, one in enumerate(prior.values()):
            mean, spread = found.posterior.mean[i], found.posterior.spread[i]
            low, high = (one.value(mean + s * 1.96 * spread) for s in (-1, 1))
            inside[i] += low <= one.value(z[i]) <= high
    told = {name: float(hits / used) for name, hits in zip(prior, inside, strict=True)}
    print(f"{used} used, {refused} refused, {dead} without a beat; held {told}")
    assert used + refused + dead == trials
    assert min(told.values()) >= 0.90, told
    assert refused <= 0.2 * trials
    assert used >= 0.6 * trials
    spread = dict(zip(prior, np.median(spreads, axis=0), strict=True))
    assert spread[learned[0]] < learned[1]


def test_data_the_solver_cannot_have_at_the_fit_are_no_fit():
    """Two answers, one of them with a value on one side only: the gap is not that of the other."""

    def fast(z):
        return np.array([z[0], z[0]])

    def half(z):
        return np.array([z[0], z[0] if z[0] < 0.0 else math.nan])

    scatter = np.array([0.1, 0.1])
    assert corrected_posterior(("a",), fast, half, np.array([-0.5, -0.5]), scatter)[1] < 1e-9
    assert corrected_posterior(("a",), fast, half, np.array([0.5, 0.5]), scatter)[1] == math.inf


def _flat(known):
    """Return a fast model of two answers that hang on the first of two inputs."""
    slope = np.array([[0.2, 0.0], [0.1, 0.0]])
    return Surrogate(("modulus", "density"), np.zeros(2), np.zeros(2), slope, 0.0 * slope,
                     np.array(known), np.zeros((2, 2), dtype=bool))  # fmt: skip


@pytest.fixture
def refused(monkeypatch):
    """A tail of which the solver has no beat at the values that fit, nor about them."""
    monkeypatch.setattr(
        module, "build_surrogate", lambda case, wanted, centre, progress: _flat([True, not centre])
    )
    monkeypatch.setattr(module, "exact_at", lambda *_: np.array([0.01, math.nan]))


def test_a_measurement_does_not_drop_out_where_the_solver_has_none(refused):
    found = calibrate_designs([(loads(HEAD + PADDLE + RUN), [START, BEAT])])
    assert len(found.data) == 2
    assert found.surrogate_error == math.inf
    assert "no value for a measurement" in poor_model(found)[0]


def test_a_refused_fit_is_not_written_into_a_profile(refused, tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "tail.toml").write_text(HEAD + PADDLE + RUN)
    (tmp_path / "weigh.csv").write_text("part_id,mass_g,mass_sub_g,water_C\na,10,0.25,20\n")
    (tmp_path / "run.csv").write_text(
        "run_id,quantity,value,u_68,unit,method,n,speed_mps\n"
        "r,start_speed,0.2,0.01,m/s,ramp,3,\nr,flap_frequency,6,0.1,Hz,film,10,0.5\n"
    )

    def call(*words):
        with pytest.raises(SystemExit) as caught:
            cli.main(list(words))
        return caught.value.code, *capsys.readouterr()

    status, out, err = call("calibrate", "tail.toml", "run.csv", "--profile", "shop.toml")
    assert status == 1
    assert "do not use them" in " ".join(out.split())
    assert "not written" in err
    assert not (tmp_path / "shop.toml").exists()
    status, out, _ = call("calibrate", "tail.toml", "run.csv", "--json")
    assert status == 0
    assert json.loads(out)["posterior"]["surrogate_error"] is None
    assert json.loads(out)["profile"] == {}
    status, _, _ = call("calibrate", "tail.toml", "run.csv", "weigh.csv", "--profile", "shop.toml")
    assert status == 0
    text = (tmp_path / "shop.toml").read_text()
    assert "[values.density]" in text
    assert "[values.youngs_modulus]" not in text
