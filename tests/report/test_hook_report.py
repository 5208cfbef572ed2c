"""Hook clearance told and drawn: the sentence, the table, the picture, the results file."""

from dataclasses import replace

import h5py
import numpy as np
import pytest

from simsoft.case.model import BodyInput, HookInput, RigInput, Taper
from simsoft.report.figures import hook as hook_figure
from simsoft.report.text.clearance import hook_sentence, hook_table
from simsoft.report.text.run import summary
from simsoft.results.hdf5 import write_run
from simsoft.results.record import Record
from simsoft.results.result import Closest

PATH = (
    (0.0, 0.0, 0.0),
    (0.04, 0.0, 0.0),
    (0.046, 0.0, 0.006),
    (0.04, 0.0, 0.012),
    (0.03, 0, 0.012),
)


def gap(value, low, high, contact="clear", speed=0.3, state="cycle", spot="bend"):
    at = {"speed": speed, "state": state}
    yield Record("swim", "claw", "hook_clearance", value, low, high, "m", "screening", at)
    for name, more in ((spot, 0.0), ("point" if spot == "bend" else "bend", 0.004)):
        yield Record(
            "swim", "claw", "hook_clearance", value + more, low, high, "m", "screening",
            {**at, "spot": name},
        )  # fmt: skip
    yield Record("swim", "claw", "hook_contact", contact, None, None, "", "screening", at)


def test_the_closest_call_is_told_with_its_band():
    records = [*gap(0.0062, 0.005, 0.0074, state="rest"), *gap(0.0031, 0.0020, 0.0044)]
    assert hook_sentence(records) == (
        "clears the bend by 3.1 mm (2.0 to 4.4), closest over the beat at 0.3 m/s."
    )
    inches = hook_sentence(records, "inch")
    assert "0.12 inch (0.08 to 0.17)" in inches


def test_a_band_that_reaches_the_wire_says_so():
    told = hook_sentence([*gap(0.0012, -0.0004, 0.0030)])
    assert told.endswith("it may touch within the band.")


@pytest.mark.parametrize(
    ("contact", "words"), [("touches", "touches the point"), ("wraps", "wraps around the point")]
)
def test_contact_is_told_without_a_margin(contact, words):
    told = hook_sentence([*gap(-0.001, -0.002, 0.0, contact, spot="point")])
    assert told == f"{words} over the beat at 0.3 m/s."


def test_without_a_hook_nothing_is_told():
    assert hook_sentence([]) is None
    assert list(hook_table([])) == []


def test_the_table_has_a_row_for_every_state_and_fits():
    records = [*gap(0.0062, 0.005, 0.0074, speed=0.0, state="rest"), *gap(0.0031, 0.0020, 0.0044)]
    lines = list(hook_table(records))
    assert lines[1].split() == ["hook", "clearance", "gap", "[mm]", "to", "the"]
    rows = [" ".join(line.split()) for line in lines[2:]]
    assert rows == [
        "at rest 6.2 (5.0 to 7.4) bend clear",
        "over the beat at 0.3 m/s 3.1 (2.0 to 4.4) bend clear",
    ]
    assert max(map(len, lines)) <= 80


@pytest.fixture
def hooked(synthetic_result):
    """Return a run with a hook, a body and two positions of one part."""
    line = np.column_stack([np.linspace(0.05, 0.08, 9), np.zeros(9), np.zeros(9)])
    side = np.array([0.0, 0.0, 0.004])
    near = Closest(
        "stream", "tail", "cycle", 0.3, 0.0031, "bend", "clear", line,
        np.stack([line - side, line + side], axis=1), np.zeros((0, 3)),
        np.array([0.05, 0.0, 0.004]), np.array([0.046, 0.0, 0.006]),
    )  # fmt: skip
    rest = replace(near, state="rest", margin=0.006)
    size = Taper((0.0, 1.0), (0.01, 0.008))
    case = replace(
        synthetic_result.case,
        rig=RigInput(HookInput(0.0012, PATH)),
        body=BodyInput("grub", 0.055, size, size),
    )
    return replace(synthetic_result, case=case, closest=(rest, near))


def test_the_picture_shows_hook_body_part_and_gap_in_mm(hooked):
    ((words, figure),) = hook_figure.hook_pictures(hooked)
    assert words == ("hook", "stream", "tail")
    assert "over the beat, 0.3 m/s: clears the bend by 3.1 mm" in figure.get_suptitle()
    side, above = figure.axes
    assert (side.get_ylabel(), above.get_ylabel()) == ("up [mm]", "to the side [mm]")
    assert [axes.get_aspect() for axes in figure.axes] == [1.0, 1.0]
    drawn = {line.get_label(): np.asarray(line.get_xydata()) for line in side.lines}
    np.testing.assert_allclose(drawn["hook"], 1e3 * np.asarray(PATH)[:, [0, 2]])
    np.testing.assert_allclose(drawn["closest"], [[50.0, 4.0], [46.0, 6.0]])
    for axes in figure.axes:
        (left, right), (low, high) = axes.get_xlim(), axes.get_ylim()
        for x, y in (line.get_xydata().T for line in axes.lines):
            assert left <= x.min() <= x.max() <= right
            assert low <= y.min() <= y.max() <= high


def test_a_picture_of_contact_says_what_it_touches(hooked):
    touching = replace(hooked.closest[1], margin=-0.001, contact="touches")
    figure = hook_figure.hook_picture(hooked, touching)
    assert figure.get_suptitle().endswith("touches the bend")


def test_the_results_file_holds_the_closest_positions(hooked, tmp_path):
    with h5py.File(write_run(hooked, tmp_path / "results.h5")) as file:
        group = file["closest/001"]
        assert (group.attrs["state"], group.attrs["contact"]) == ("cycle", "clear")
        assert group["margin"][()] == pytest.approx(0.0031)
        assert group["margin"].attrs["units"] == "m"
        np.testing.assert_allclose(group["centreline"], hooked.closest[1].centreline)
        np.testing.assert_allclose(group["on_wire"], [0.046, 0.0, 0.006])


def test_the_summary_puts_the_hook_into_the_answer(hooked):
    records = tuple(replace(r, scenario="stream", part="tail") for r in gap(0.0031, 0.0020, 0.0044))
    weighed = [
        Record("", "", q, v, v, v, u, "geometry")
        for q, v, u in (
            ("mass", 0.01, "kg"), ("volume", 8e-6, "m^3"), ("net_weight", 0.02, "N"),
            ("centre_of_mass", (0.02, 0.0, 0.0), "m"), ("centre_of_buoyancy", (0.02, 0, 0), "m"),
            ("length", 0.08, "m"), ("projected_area", (1e-4, 1e-3, 1e-3), "m^2"),
        )
    ]  # fmt: skip
    text = summary(replace(hooked, records=(*hooked.records, *records, *weighed)))
    assert "  Hook: clears the bend by 3.1 mm (2.0 to 4.4), closest over the beat" in text
    assert text.count("over the beat at 0.3 m/s") == 1
