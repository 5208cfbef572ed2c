"""The plan for a case: the run that bears on the verdict comes first."""

import numpy as np
import pytest

from simsoft.aquarium.inference import next_run
from simsoft.aquarium.inference.forward import Surrogate
from simsoft.case.read import loads
from simsoft.core.errors import InputError
from simsoft.report.text.calibration import plan_page

CASE = """title = "Lockside ribbon"
[material]
durometer = "50 OO"
[[parts]]
name = "tail"
kind = "ribbon"
length = "40 mm"
width = "6 mm"
thickness = "1 mm"
[[scenarios]]
name = "stream"
kind = "retrieve"
speed = "0.4 m/s"
"""


def test_a_ramp_is_advised_for_the_start_and_a_film_for_the_beat(monkeypatch):
    """With made-up gradients: the start hangs on the modulus, the beat on drag."""

    def build(case, wanted, centre=None, progress=None):
        names = ("modulus", "normal_drag")
        slope = np.array(
            [[0.3, 0.0] if m.quantity == "start_speed" else [0.0, 0.2] for m in wanted]
        )
        count = len(wanted)
        jumps = np.zeros((count, 2), bool)
        jumps[[m.quantity == "flap_frequency" for m in wanted], 1] = True
        known = np.ones(count, bool)
        return Surrogate(
            names, np.zeros(2), np.zeros(count), slope, np.zeros((count, 2)), known, jumps
        )

    monkeypatch.setattr(next_run, "build_surrogate", build)
    advice = {one.target: one for one in next_run.advise(loads(CASE))}
    singles = [c for c in advice["start speed"].choices if len(c.labels) == 1]
    tank = [c for c in singles if "strip" not in c.labels[0]]
    assert tank[0].labels == ("a speed ramp",)
    assert singles[-1].left == pytest.approx(1.0)
    beat = [c for c in advice["rate at 0.4 m/s"].choices if len(c.labels) == 1]
    assert beat[0].labels == ("film a run at 0.4 m/s",)
    assert "ring-down" in singles[0].labels[0]  # it gives the modulus itself
    assert singles[0].left < tank[0].left < 0.6
    assert advice["start speed"].jumps == ()
    assert advice["rate at 0.4 m/s"].jumps == ("normal_drag",)
    page = plan_page(list(advice.values()), [], 0.08, {"normal_drag": "drag coefficient"})
    assert "at one end of drag coefficient another motion sets in" in page
    assert max(map(len, page.splitlines())) <= 80


def test_a_case_without_a_stream_cannot_be_planned_for():
    still = CASE.replace('kind = "retrieve"\nspeed = "0.4 m/s"', 'kind = "hold"')
    with pytest.raises(InputError, match="retrieve scenario is needed"):
        next_run.advise(loads(still))
