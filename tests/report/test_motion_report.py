"""Fall, hop and tow in text, pictures and results file, from one real run of each."""

from dataclasses import replace

import h5py
import numpy as np
import pytest
from free_bodies import STICK, WORM

from simsoft.case.read import loads
from simsoft.engine.run import run
from simsoft.report.figures.run import save_all
from simsoft.report.html.answers import verdict_word
from simsoft.report.text.motion import motion_answer
from simsoft.report.text.run import summary
from simsoft.report.units import show
from simsoft.results import hdf5 as results_file
from simsoft.results.record import distrusted, select, why_untrusted

NUMERICS = '\n[numerics]\nelements = 5\nstep = "2 ms"\n'
SCENARIOS = """
[[scenarios]]
name = "drop"
kind = "sink"
duration = "6 s"
[[scenarios]]
name = "quiver"
kind = "hop"
motion = "shake"
amplitude = "8 mm"
cadence = "4 Hz"
duration = "2 s"
[[scenarios]]
name = "swim"
kind = "retrieve"
free = true
speed = ["0.3 m/s"]
duration = "1.5 s"
"""


@pytest.fixture(scope="module")
def result():
    return run(loads(WORM + NUMERICS + SCENARIOS), bands=False)


def of_whole(result, scenario):
    return [r for r in result.records if r.scenario == scenario and not r.part]


def test_the_answer_comes_first(result):
    text = summary(result)
    assert text.startswith("drop: whole lure sinks at ")
    assert "s a metre" in text
    assert "s a foot" in text
    assert "quiver: the nose moves 8" in text
    assert "swim: towed free, the nose swings" in text
    assert max(map(len, text.splitlines())) <= 80
    assert "trim" not in text
    assert "depth [m]" in text


def test_a_floating_lure_rises_in_words(result):
    records = [
        r if r.quantity != "sink_rate" else type(r)(**{**r.__dict__, "value": -0.1})
        for r in of_whole(result, "drop")
    ]
    (told,) = motion_answer("drop", records, "mm")
    assert "rises at 0.1" in told
    assert "-0.1" not in told


def test_books_are_among_the_records(result):
    for name in ("energy_residual", "momentum_residual"):
        for record in select(result.records, name):
            assert abs(record.value) < 0.05


def test_pictures_are_made(result, tmp_path):
    names = [path.name for path in save_all(result, tmp_path)]
    for wanted in ("motion-drop.png", "motion-quiver.png", "motion-swim-0.3.png"):
        assert wanted in names


def test_motions_are_in_the_results_file(result, tmp_path):
    path = results_file.write_run(result, tmp_path / "results.h5")
    with h5py.File(path, "r") as file:
        group = file["motions/000"]
        assert group.attrs["scenario"] == "drop"
        assert group["eye"].shape == (len(group["time"]), 3)
        assert group["frames"].shape[1:] == (3, 3)
        assert list(group.attrs["chains"]) == ["body/back", "tail"]
        assert group["nodes"].shape[1] == group.attrs["first_node_of_chain"][-1]
        assert np.all(np.isfinite(group["nodes"][()]))
        assert group["centre"].attrs["units"] == "m"


def test_a_stick_alone_is_told_too():
    found = run(loads(STICK + NUMERICS + SCENARIOS[: SCENARIOS.index("[[scenarios]]\nname = \"q")]),
                bands=True)  # fmt: skip
    (rate,) = [r for r in of_whole(found, "drop") if r.quantity == "sink_rate"]
    assert rate.low < rate.value < rate.high
    assert any(r.quantity == "doubt" for r in of_whole(found, "drop"))


def doubted(records, quantity, why):
    return [
        distrusted(replace(r, basis="test"), why) if r.quantity == quantity else r for r in records
    ]


def test_what_is_not_to_be_trusted_is_no_answer_of_a_fall(result):
    known = of_whole(result, "drop")
    (rate,) = select(known, "sink_rate")
    (told,) = motion_answer("drop", doubted(known, "sink_rate", "it had not settled"), "mm")
    assert told.startswith("drop: whole lure sinks; no sink rate to trust: it had not settled")
    assert "s a metre" not in told
    (told,) = motion_answer("drop", doubted(known, "fall", "a flat body flutters"), "mm")
    assert f"at {show(rate)}" in told
    assert told.split(";")[-1].startswith(" a flat body flutters")
    assert verdict_word((), known).startswith("sinks ")
    assert verdict_word((), doubted(known, "fall", "a flat body flutters")) == "answered"


def test_a_mean_that_still_drifts_is_no_answer_of_a_hop(result):
    known = of_whole(result, "quiver")
    (attitude, *_) = [r for r in select(known, "attitude") if r.value is not None]
    (told,) = motion_answer("quiver", doubted(known, "attitude", "pitch still drifts"), "mm")
    assert "; how the nose points is not told: pitch still drifts" in told
    assert show(attitude) not in told
    assert "the nose moves" in told


def test_a_drifting_hop_says_so_in_its_records(result):
    """The demo's warning and the record's own doubt are one."""
    warned = [w for w in result.warnings if w.startswith("quiver:") and "drift" in w]
    (attitude, *_) = [
        r for r in select(of_whole(result, "quiver"), "attitude") if r.value is not None
    ]
    why = why_untrusted(attitude)
    assert (why is not None) == bool(warned)
    assert not warned or warned[0].endswith(str(why))
