"""The resolved falls: their designs, and that each becomes a job that fits its box."""

import csv
import importlib
import sys
from pathlib import Path

import numpy as np
import pytest

from simsoft.case.read import loads
from simsoft.core.errors import InputError
from simsoft.lure.assembly import assemble_whole
from simsoft.lure.parts import assemble
from simsoft.properties.coefficients import SKIN_FRICTION
from simsoft.resolved.fall import fall_job
from simsoft.resolved.run import lay_out

FOLDER = Path(__file__).parents[2] / "validation" / "resolved"


@pytest.fixture(scope="module")
def falls():
    sys.path.insert(0, str(FOLDER))
    try:
        yield importlib.import_module("falls")
    finally:
        sys.path.remove(str(FOLDER))


def rows(name="falls.csv"):
    with (FOLDER / name).open(encoding="utf-8") as file:
        return list(csv.DictReader(file))


def test_the_falls_are_those_of_the_script(falls):
    made = [{k: str(row[k]) for k in falls.DESIGN} for row in falls.design()]
    assert made == rows()


def test_a_dozen_bodies_fall_and_some_are_sealed():
    bodies = [row for row in rows() if row["cells"] == "12"]
    assert len(bodies) >= 12
    assert 0.2 < np.mean([row["sealed"] == "1" for row in bodies]) < 0.5


@pytest.mark.parametrize("row", rows(), ids=lambda row: row["run"])
def test_a_fall_fits_its_box_whichever_way_it_turns(falls, row):
    job, settings = falls.job_of(row)
    grid = lay_out(job, settings)
    reach = (np.linalg.norm(job.pieces.offset, axis=1) + job.pieces.forms[:, 7]).max() / grid.cell
    home = (job.centre - grid.origin) / grid.cell
    assert (home - reach > 3.0).all()
    assert (home + reach < np.array(grid.domain.shape) - 4.0).all()
    assert job.body.weight > job.body.buoyancy
    assert np.linalg.eigvalsh(job.body.virtual).min() >= -1e-12


@pytest.mark.parametrize(
    ("change", "word"),
    [
        ('density = "900 kg/m^3"', "floats"),
        ('density = "1100 kg/m^3"\nsection = "rectangle"', "ellipses"),
    ],
)
def test_what_cannot_fall_is_told_so(change, word):
    text = (FOLDER / "fall.toml").read_text(encoding="utf-8")
    case = loads(text.replace('density = "1100 kg/m^3"', change))
    with pytest.raises(InputError, match=word):
        fall_job("fall", assemble_whole(case, assemble(case)))


def test_every_fall_that_was_kept_is_designed_and_whole():
    known = {row["run"] for row in rows()}
    for name in ("fallen.csv", "loads.csv", "fallen_reduced.csv"):
        assert {row["run"] for row in rows(name)} <= known
    for row in rows("fallen.csv"):
        numbers = [float(text) for column, text in row.items() if column != "run"]
        assert np.isfinite(numbers).all()
        assert float(row["sink_mps"]) > 10.0 * float(row["sink_error"]) > 0.0


@pytest.mark.parametrize("run", ["ball-144", "ball-90-light"])
def test_balls_fall_as_books_say_within_three_per_cent(falls, run):
    (row,) = (row for row in rows("fallen.csv") if row["run"] == run)
    reynolds = float(row["sink_mps"]) * falls.BALL / falls.ball_job(run).viscosity
    assert reynolds == pytest.approx(falls.BALLS[run][2], rel=0.03)


def test_the_friction_of_sealed_falls_lies_in_the_band_that_was_not_set_by_them():
    sealed = {row["run"] for row in rows() if row["sealed"] == "1"}
    told = {row["run"]: float(row["friction"]) for row in rows("loads.csv") if row["friction"]}
    assert len(sealed & set(told)) >= 3
    for friction in (told[run] for run in sealed & set(told)):
        assert SKIN_FRICTION.low < friction < SKIN_FRICTION.high


def test_the_reduced_falls_are_within_thirty_per_cent_but_for_those_that_dive():
    theirs = {row["run"]: float(row["sink_mps"]) for row in rows("fallen_reduced.csv")}
    ours = {row["run"]: float(row["sink_mps"]) for row in rows("fallen.csv")}
    off = {run: theirs[run] / ours[run] for run in ours if run in theirs}
    wrong = [run for run, ratio in off.items() if not 1 / 1.3 < ratio < 1.3]
    assert sorted(wrong) == ["flat-nose", "hook-1050", "nail"]
    nose = {row["run"]: float(row["attitude_deg"]) for row in rows("fallen.csv")}
    assert all((nose[run] > 30.0) == (run in wrong) for run in off)


def test_the_page_shows_the_tables_that_are_kept(falls):
    page = importlib.import_module("page")
    text = (FOLDER.parent / "RESOLVED.md").read_text(encoding="utf-8")
    for table in (page.fall_table(), page.ball_table(), page.load_table()):
        assert table in text
