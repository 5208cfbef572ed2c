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


def rows():
    with (FOLDER / "falls.csv").open(encoding="utf-8") as file:
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
