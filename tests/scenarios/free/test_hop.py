"""Hops: the held nose follows, the slack line does not push, parts answer."""

import numpy as np
import pytest
from free_bodies import STICK, WORM, whole_of

from simsoft.case.model import HopInput, LineInput, Scenario
from simsoft.scenarios.free.hop import hop, per_cycle
from simsoft.scenarios.free.ride import FreeDetail

ROUGH = FreeDetail(elements=5, step_factor=2.0)


def value(outcome, quantity, **at):
    return outcome.answers[quantity, tuple(at.items())].value


def asked(line, **fields):
    return Scenario("hop", "hop", line=line, hop=HopInput(**fields))


def test_a_shaken_worm_moves_its_tail():
    line = LineInput("held", (0.0, 0.0, 1.0))
    scenario = asked(line, motion="shake", amplitude=8e-3, cadence=5.0)
    found = hop(whole_of(WORM), None, scenario, ROUGH)
    assert value(found[""], "nose_motion") == pytest.approx(8e-3, rel=0.02)
    assert 1e-3 < value(found["body/back"], "tail_motion") < 40e-3
    assert value(found["tail"], "tail_motion") > 1e-3
    (motion,) = found[""].motions
    assert motion.eye[:, 2] == pytest.approx(motion.lead[:, 2], abs=1e-9)


def test_a_slack_line_lifts_and_lets_fall():
    line = LineInput("slack", (-0.6, 0.0, 0.8), length=5.0)
    scenario = asked(line, motion="lift-drop", amplitude=0.3, cadence=0.5)
    found = hop(whole_of(STICK), None, scenario, ROUGH)
    assert value(found[""], "sink_rate", during="drop") > 0.05
    assert value(found[""], "line_tension") > 0.02
    assert (
        value(found[""], "attitude", during="lift")
        < value(found[""], "attitude", during="drop") + 90
    )
    (motion,) = found[""].motions
    rod = np.array([-0.6, 0.0, 0.8]) * 5.0
    away = np.linalg.norm(motion.eye - (motion.lead + rod), axis=1)
    slack = away < 5.0 - 1e-3
    assert slack.any()
    assert np.abs(motion.line[slack]).max() == 0.0
    assert motion.momentum_residual < 0.02


def test_way_per_cycle_takes_the_drift_off():
    time = np.linspace(0.0, 4.0, 4001)
    path = np.column_stack([0.1 * time, np.zeros_like(time), 5e-3 * np.sin(10.0 * np.pi * time)])
    assert per_cycle(time, path, 5.0) == pytest.approx(10e-3, rel=0.02)


def test_a_lure_that_still_swings_is_told():
    """A worm held at the nose and let go level hangs down only after seconds."""
    line = LineInput("held", (0.0, 0.0, 1.0))
    short = Scenario("quiver", "hop", duration=0.8, line=line, hop=HopInput("shake", 8e-3, 5.0))
    found = hop(whole_of(STICK), None, short, ROUGH)
    assert "still drift" in found[""].warnings[0]
    assert "still drift" in found[""].distrusted["attitude", (("during", "shake"),)]
