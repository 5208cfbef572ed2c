"""Parts blown about in the air: sides, mirror pairs, the body in the way, bands."""

from dataclasses import replace

import numpy as np
import pytest
from physics import case_of, strip_part

import simsoft.scenarios.cast.let_go as blown_module
from simsoft.bodies.clearance.gap import Clearance
from simsoft.case.model import BodyInput, HookInput, RigInput, Scenario, Taper
from simsoft.core.errors import SolveError
from simsoft.engine.run import run
from simsoft.results.outcome import Outcome
from simsoft.results.record import select
from simsoft.scenarios.cast.tumble import LEAN, add_fouling, met_by, sides

SIZE = Taper((0.0, 1.0), (0.01, 0.01))
BODY = BodyInput("grub", 0.05, SIZE, SIZE, density=1050.0)
HOOK = HookInput(
    0.001,
    (
        (0.0, 0.0, 0.0),
        (0.035, 0.0, 0.0),
        (0.04, 0.0, 0.006),
        (0.035, 0, 0.012),
        (0.02, 0, 0.012),
    ),
)
CAST = Scenario("reach", "cast")


def test_the_air_comes_from_all_sides_alike():
    found = sides(strip_part())
    assert found.shape == (26, 3)
    assert np.linalg.norm(found, axis=1) == pytest.approx(np.ones(26))
    assert np.linalg.norm(found.mean(axis=0)) < 1.5 * LEAN


def tumbled(bands=False, modulus=1e5, **part):
    strip = strip_part(
        name="claw", length=0.03, thickness=Taper((0.0, 1.0), (0.0012, 0.0012)),
        position=(0.05, 0.002, 0.0), direction=(0.8, 0.6, 0.0), mirrored=True, **part,
    )  # fmt: skip
    case = case_of(strip, density=1040.0)
    case = replace(
        case, body=BODY, rig=RigInput(HOOK), scenarios=(CAST,),
        material=replace(case.material, youngs_modulus=modulus),
    )  # fmt: skip
    return run(case, bands=bands)


def test_a_pair_is_blown_onto_the_hook_alike():
    found = tumbled()
    for quantity in ("hook_clearance", "fouling_sides"):
        left, right = (
            next(r.value for r in select(found.records, quantity) if r.part == f"claw/{side}")
            for side in ("left", "right")
        )
        assert left == pytest.approx(right, abs=1e-5)
    assert {c.state for c in found.closest} == {"tumble"}


def test_a_soft_claw_comes_nearer_than_a_stiff_one():
    soft, stiff = (
        select(tumbled(modulus=modulus).records, "hook_clearance")[0].value
        for modulus in (1e5, 1e8)
    )
    assert soft < stiff


def test_bands_move_what_a_shape_in_air_feels():
    record = select(tumbled(bands=True).records, "hook_clearance", state="tumble")[0]
    assert record.low < record.value < record.high
    assert "26 sides" in record.basis


def test_the_share_of_sides_has_a_band_of_shares():
    (left, right) = select(tumbled(bands=True).records, "fouling_sides")
    assert 0.0 <= left.low < left.value < left.high <= 1.0
    # so few sides alone leave open what a draw of 26 would
    few = np.sqrt(left.value * (1.0 - left.value) / 26)
    assert left.high >= min(1.0, left.value + 0.99 * few)
    assert (left.low, left.high) == pytest.approx((right.low, right.high), abs=1e-6)


def test_a_side_counts_as_the_hook_is_rigged():
    def gap(margin, contact):
        return Clearance(margin, "bend", {}, contact, 0.0, 0, np.zeros(3), np.zeros(3))

    assert met_by(None) == (False, False, False)
    assert met_by(gap(0.5e-3, "clear")) == (False, True, False)
    assert met_by(gap(2e-3, "clear")) == (False, False, False)
    assert met_by(gap(-0.5e-3, "touches")) == (True, True, False)
    assert met_by(gap(-1.5e-3, "touches")) == (True, True, True)
    assert met_by(gap(3e-3, "wraps")) == (True, True, True)


@pytest.mark.parametrize(("meets", "lost"), [(0, 0), (5, 0), (5, 6), (20, 6), (26, 0)])
def test_the_errors_of_a_share_hold_what_the_lost_sides_may_do(meets, lost):
    met = [(i < meets, i < meets + 2, i < meets - 3) for i in range(26 - lost)]
    outcome = Outcome()
    add_fouling(outcome, met, lost, state="tumble")
    share = outcome.answers["fouling_sides", (("state", "tumble"),)].value
    assert share == pytest.approx(meets / (26 - lost))
    errors = outcome.own_error["fouling_sides", (("state", "tumble"),)]
    low, high = errors["lost"]
    assert share + low == pytest.approx(meets / 26)
    assert share + high == pytest.approx((meets + lost) / 26)
    assert errors["rigging"][0] <= 0.0 <= errors["rigging"][1]
    assert errors["sides"][1] > 0.0


def clearance_of(found):
    return next(r for r in select(found.records, "hook_clearance") if "spot" not in r.at)


def test_a_limp_part_is_followed_with_shorter_steps(monkeypatch):
    """Half the air's sides once failed for a limp claw, and it was called clear."""
    limp = tumbled(modulus=1.5e4)
    assert not [w for w in limp.warnings if "could not be followed" in w]
    assert isinstance(clearance_of(limp).value, float)
    monkeypatch.setattr(blown_module, "ROD_STEPS", (32,))
    finest = tumbled(modulus=1.5e4)
    assert clearance_of(limp).value == pytest.approx(clearance_of(finest).value, abs=5e-4)


def test_a_gap_that_is_not_known_from_every_side_is_no_number(monkeypatch):
    def lost(*_):
        raise SolveError("lost")

    monkeypatch.setattr(blown_module, "followed_rod", lost)
    found = tumbled()
    record = clearance_of(found)
    assert record.value is None
    share = select(found.records, "fouling_sides")[0]
    assert share.value is None
    assert share.reason == record.reason
    assert "could not be followed from 26 of 26 sides" in record.reason
