"""Hook clearance of plates: the gap of the rod where nothing bends, in still and moving water."""

from dataclasses import replace

import pytest
from physics import case_of, strip_part

from simsoft.case.model import HookInput, RigInput, Scenario, Taper
from simsoft.engine.run import run
from simsoft.results.record import select

WIDE = Taper((0.0, 1.0), (0.02, 0.02))
HOOK = HookInput(0.0012, ((0.01, 0.006, 0.0), (0.02, 0.006, 0.0), (0.035, 0.006, 0.0)))


def gaps(model, *scenarios):
    part = strip_part(model=model, length=0.04, width=WIDE)
    case = case_of(part, density=1000.0)
    case = replace(
        case,
        rig=RigInput(HOOK),
        scenarios=scenarios,
        material=replace(case.material, youngs_modulus=5e7),
    )
    return run(case, bands=False)


@pytest.mark.parametrize("model", ["rod", "plate"])
def test_a_stiff_wide_part_keeps_its_gap(model):
    """6 mm beside the face, less half a millimetre of part and six tenths of wire."""
    found = gaps(model, Scenario("tank", "hold"))
    (whole, *_) = select(found.records, "hook_clearance")
    assert whole.value == pytest.approx(0.006 - 0.0005 - 0.0006, abs=1e-5)
    assert select(found.records, "hook_contact")[0].value == "clear"
    assert found.closest[0].state == "rest"


def test_a_plate_in_a_stream_is_watched_over_its_beat():
    swim = Scenario("swim", "retrieve", (0.2,), onset=False, duration=0.5)
    found = gaps("plate", swim)
    states = {r.at["state"] for r in select(found.records, "hook_clearance")}
    assert states == {"rest", "cycle"}
    for record in select(found.records, "hook_clearance"):
        assert record.value == pytest.approx(0.0049, abs=1e-3)
