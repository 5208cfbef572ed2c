"""Fall, hop and tow in text, pictures and results file, from one real run of each."""

import h5py
import numpy as np
import pytest
from free_bodies import STICK, WORM

from simsoft.case.read import loads
from simsoft.engine.run import run
from simsoft.report.figures.run import save_all
from simsoft.report.text.motion import motion_answer
from simsoft.report.text.run import summary
from simsoft.results import hdf5 as results_file
from simsoft.results.record import select

NUMERICS = '\n[numerics]\nelements = 5\nstep = "2 ms"\n'
SCENARIOS = """
[[scenarios]]
name = "drop"
kind = "sink"
duration = "3 s"
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
    path = results_file.write(result, tmp_path / "results.h5")
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
