"""Parts blown about in the air: sides, mirror pairs, the body in the way, bands."""

from dataclasses import replace

import numpy as np
import pytest
from physics import case_of, strip_part

import simsoft.scenarios.cast.let_go as blown_module
from simsoft.case.model import BodyInput, HookInput, RigInput, Scenario, Taper
from simsoft.core.errors import SolveError
from simsoft.engine.run import run
from simsoft.results.record import select
from simsoft.scenarios.cast.tumble import LEAN, sides

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
    record = clearance_of(tumbled())
    assert record.value is None
    assert "could not be followed from 26 of 26 sides" in record.reason
