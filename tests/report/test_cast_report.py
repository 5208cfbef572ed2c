"""A cast told, tabulated, drawn and kept: the reach first, within 80 columns, with its caution."""

from dataclasses import replace

import h5py
import numpy as np
import pytest
from physics import case_of

from simsoft.case.model import BodyInput, RigInput, Scenario, Taper, WeightInput
from simsoft.engine.run import run
from simsoft.report.figures.cast import cast_figures
from simsoft.report.text.cast import far, wind_words
from simsoft.report.text.run import summary
from simsoft.results.hdf5 import write_run
from simsoft.results.record import Record, select

TALL, THIN = Taper((0.0, 0.5, 1.0), (0.01, 0.025, 0.008)), Taper((0.0, 1.0), (0.005, 0.005))
FLAT = BodyInput("flat-sided", 0.06, TALL, THIN, density=1060.0)
LEAD = RigInput(weights=(WeightInput("jig", "jig-head", "lead", 0.004, (0.0, 0.0, 0.0)),))


@pytest.fixture(scope="module")
def thrown():
    """Return a run of a flat body with a light lead head, with bands."""
    case = replace(case_of(density=1050.0), parts=(), body=FLAT, rig=LEAD)
    return run(replace(case, scenarios=(Scenario("reach", "cast"),)))


def test_the_reach_comes_first_then_attitude_limit_and_what_flatness_costs(thrown):
    lines = summary(thrown).splitlines()
    assert lines[0].startswith("reach: flies ")
    assert " m (" in lines[0]
    assert "in still air" in lines[0]
    text = "\n".join(lines[:12])
    for label in ("  Attitude: ", "  Limit: ", "  Flat body: costs "):
        assert label in text
    assert max(map(len, lines)) <= 80


def test_the_table_has_every_wind_and_the_caution(thrown):
    text = summary(thrown)
    for words in ("in still air", "5 m/s head wind", "8 m/s head wind", "5 m/s tail wind",
                  "5 m/s from the left"):  # fmt: skip
        assert text.count(f"  {words} ") >= 2
    assert "eye protection" in text
    assert "Lead poisons" in text


def test_no_lead_no_word_about_lead(thrown):
    steel = RigInput(weights=(replace(LEAD.weights[0], material="steel"),))
    case = replace(thrown.case, rig=steel)
    assert "Lead" not in summary(replace(thrown, case=case))


def test_feet_for_those_who_ask_for_inches(thrown):
    (still, *_) = select(thrown.records, "cast_distance", wind=0.0)
    metres, feet = far(still, "mm"), far(still, "inch")
    assert float(feet.split()[0]) == pytest.approx(float(metres.split()[0]) / 0.3048, abs=3.0)
    assert " ft (" in feet


@pytest.mark.parametrize(
    ("speed", "bearing", "words"),
    [(0.0, 0.0, "in still air"), (5.0, 0.0, "5 m/s head wind"), (5.0, 360.0, "5 m/s head wind"),
     (2.5, 270.0, "2.5 m/s from the right"), (5.0, 45.0, "5 m/s from 45 deg")],
)  # fmt: skip
def test_winds_in_words(speed, bearing, words):
    at = {"wind": speed, "wind_from": bearing}
    assert wind_words(Record("", "", "x", 1.0, None, None, "m", "", at), "mm") == words


def test_wind_in_miles_an_hour_for_those_who_ask_for_inches():
    record = Record("", "", "x", 1.0, None, None, "m", "", {"wind": 4.4704, "wind_from": 0.0})
    assert wind_words(record, "inch") == "10 mph head wind"


def test_the_picture_shows_paths_and_reach_of_all_attitudes(thrown):
    ((name, figure),) = cast_figures(thrown)
    assert name == ("cast", "reach")
    paths, reach = figure.axes
    assert len(paths.lines) == len(thrown.flights) + 1
    assert paths.get_aspect() == 1.0
    drawn = paths.lines[0].get_xydata()
    np.testing.assert_allclose(drawn, thrown.flights[0].path[:, [0, 2]])
    assert next(t.get_text() for t in reach.get_xticklabels()) == "in still air"
    labels = {t.get_text() for legend in figure.legends for t in legend.get_texts()}
    assert sum("expected" in label for label in labels) == 1


def test_the_results_file_holds_the_paths(thrown, tmp_path):
    with h5py.File(write_run(thrown, tmp_path / "results.h5")) as file:
        group = file["flights/001"]
        assert (group["wind"][()], group["wind_from"][()]) == (5.0, 0.0)
        assert group["path"].attrs["units"] == "m"
        np.testing.assert_allclose(group["path"], thrown.flights[1].path)
