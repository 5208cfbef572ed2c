"""Open rows, marched by the reduced model: the resolved run's rod, and other water on it."""

import importlib
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

FOLDER = Path(__file__).parents[2] / "validation" / "resolved"
FINE, COARSE, TAIL = "swim-0.6", "bait-04", "speed-0.4"


@pytest.fixture(scope="module")
def marched():
    sys.path.insert(0, str(FOLDER))
    try:
        yield importlib.import_module("marched")
    finally:
        sys.path.remove(str(FOLDER))


@pytest.fixture(scope="module")
def rows(marched):
    """The open rows by name."""
    found = marched.open_rows(importlib.import_module("tables").rows("results.csv"))
    return {row.name: row for row in found}


def test_no_sealed_row_sets_anything(marched, rows):
    sealed = {row["run"] for row in marched.baits() if row["sealed"] == "1"}
    sealed |= {row["run"] for row in marched.plain_tails() if row["sealed"] == "1"}
    assert len(sealed) > 20
    assert not sealed & set(rows)
    assert len(rows) > 80


@pytest.mark.parametrize("name", [FINE, TAIL])
def test_the_rod_is_that_of_the_resolved_run(marched, rows, name):
    row = rows[name]
    rod = marched.rod_with(row, {})
    for field, mine, theirs in zip(rod._fields, rod, row.job.rod, strict=True):
        if field == "paddle":
            for a, b in zip(mine, theirs, strict=True):
                assert np.asarray(a) == pytest.approx(np.asarray(b))
        else:
            assert np.asarray(mine) == pytest.approx(np.asarray(theirs)), field


def test_a_coefficient_changes_the_water_alone(marched, rows):
    row = rows[TAIL]
    rod = marched.rod_with(row, {"rim_inertia": 2.0, "rim_force": 1.0})
    assert rod.fluid[-1, 3, 3] > row.job.rod.fluid[-1, 3, 3]
    assert rod.fluid[:-1] == pytest.approx(row.job.rod.fluid[:-1])
    assert rod.paddle.rim_force < row.job.rod.paddle.rim_force
    assert rod.structure is row.job.rod.structure


def test_a_bait_of_24_cells_is_taken_wider_and_counts_less(marched, rows):
    tables = importlib.import_module("tables")
    results = tables.rows("results.csv")
    factors = tables.grid_factors(results)
    wide = rows[COARSE].seen[marched.SEEN.index("stroke_d")]
    assert wide == pytest.approx(factors["stroke_d"] * float(results[COARSE]["stroke_d"]))
    assert rows[COARSE].weight == marched.COARSE["bait"] < rows[FINE].weight
    assert factors["stroke_d"] > 1.1


def test_a_row_that_is_met_has_no_misfit_and_a_still_one_that_beats_has(marched, rows):
    row = rows[TAIL]
    met = replace(row, seen=marched.found(row, {}))
    assert marched.misfit(met, {}) == pytest.approx(0.0)
    still = met.seen * np.array([1.0, 1.0, 0.0, 0.0, 0.0, 1.0])
    found = marched.misfit(replace(row, seen=still), {})
    assert found[0] == pytest.approx(marched.WRONG * row.kind.weights[0])
    assert found[4] > 0.0
