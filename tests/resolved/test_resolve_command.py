"""The command: what it refuses, what it says first, and a whole run on a coarse grid."""

import json

import pytest
from tanks import TAIL

from simsoft.cli import main as cli
from simsoft.resolved.answer import TRUST, records_of, sentence_of, trust_of, with_coarser
from simsoft.resolved.job import Settings
from simsoft.resolved.measure import MeasuredBeat


@pytest.fixture
def call(tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "tail.toml").write_text(TAIL)
    held = TAIL.replace('kind = "retrieve"\nspeed = ["0.5 m/s"]', 'kind = "hold"')
    (tmp_path / "held.toml").write_text(held)
    bends = TAIL.replace('offset = "6 mm"', 'offset = "2 mm"\nmodel = "plate"')
    (tmp_path / "bends.toml").write_text(bends)

    def run(*words):
        with pytest.raises(SystemExit) as caught:
            cli.main(["resolve", *words])
        return caught.value.code, *capsys.readouterr()

    return run


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("gone.toml",), "gone.toml"),
        (("tail.toml", "--cells", "3"), "--cells 3: allowed are 8 to 64"),
        (("tail.toml", "--careful", "--cells", "9"), "--careful: 9 cells leave no coarser grid"),
        (("tail.toml", "--speed", "5"), "--speed '5'"),
        (("tail.toml", "--speed", "0 m/s"), "--speed '0 m/s': allowed are speeds above 0"),
        (("tail.toml", "--speed", "50 m/s"), "up to 10 m/s"),
        (("held.toml",), "held.toml: has no scenario of kind retrieve"),
        (("bends.toml",), "bends.toml: its paddle bends"),
    ],
)
def test_bad_input_is_one_line_and_status_2(call, words, said):
    status, out, err = call(*words)
    assert status == 2
    assert out == ""
    assert any(said in line for line in err.splitlines())
    assert "Traceback" not in err


def test_the_cost_is_said_and_nothing_is_run(call, tmp_path):
    status, out, _ = call("tail.toml", "--cost", "--quick", "--cells", "8", "--device", "cpu")
    assert status == 0
    assert "million cells" in out
    assert "steps" in out
    assert sorted(p.name for p in tmp_path.iterdir()) == ["bends.toml", "held.toml", "tail.toml"]


def test_the_cost_of_a_careful_run_is_that_of_two_grids(call):
    words = ("tail.toml", "--cost", "--quick", "--cells", "12", "--device", "cpu", "--careful")
    status, out, _ = call(*words)
    assert status == 0
    assert out.count("million cells") == 2


def beat(stroke, beats=5.0):
    return MeasuredBeat(
        beats, 6.0, 0.1, stroke, 0.05 * stroke, 0.02, 20.0, 0.03, 0.005, 30.0, -60.0
    )


class Thing:
    """What a job must say of itself to be answered for."""

    name, size, reynolds, sheet = "tail", 0.015, 7000.0, None


def test_a_finer_grid_s_trust_is_narrower_and_unknown_grids_take_the_coarser_one():
    for low, high in ((12, 24), (24, 36)):
        assert TRUST[high].stroke[1] < TRUST[low].stroke[1]
    assert trust_of(30) == TRUST[24]
    assert trust_of(8) == TRUST[12]


def test_a_weak_motion_s_band_reaches_to_what_a_finer_grid_may_show():
    settings = Settings(cells=24)
    strong, weak = beat(0.45 * 0.015), beat(0.05 * 0.015)
    wide = {r.quantity: r for r in records_of("s", Thing, settings, weak, {"speed": 0.5})}
    narrow = {r.quantity: r for r in records_of("s", Thing, settings, strong, {"speed": 0.5})}
    assert wide["stroke"].high > 0.4 * 0.015
    assert narrow["stroke"].high < 1.5 * strong.stroke
    assert "may beat" in sentence_of(Thing, settings, beat(0.0001), 0.5)
    assert "may beat" not in sentence_of(Thing, settings, strong, 0.5)


def test_a_still_tail_has_no_beat_and_says_why():
    found = records_of("s", Thing, Settings(), beat(0.0001), {"speed": 0.5})
    rate = next(r for r in found if r.quantity == "flap_frequency")
    assert rate.value is None
    assert "still" in rate.reason


def test_a_careful_run_s_bands_hold_the_coarser_grid_and_what_is_left_to_go():
    fine, coarse = (records_of("s", Thing, Settings(cells=c), beat(stroke * 0.015), {"speed": 0.5})
                    for c, stroke in ((24, 0.5), (16, 0.4)))  # fmt: skip
    alone = {r.quantity: r for r in fine}
    found = {r.quantity: r for r in with_coarser(fine, coarse, 16)}
    stroke = found["stroke"]
    assert stroke.value == alone["stroke"].value
    assert stroke.low <= 0.4 * 0.015 * (1.0 + 1e-12)
    assert stroke.high >= 0.7 * 0.015 * (1.0 - 1e-12)
    assert stroke.basis.endswith("beside 16 cells")
    same = found["drag"]
    assert (same.low, same.high) == (alone["drag"].low, alone["drag"].high)


def test_a_beat_that_only_one_grid_has_is_said():
    fine, still = (records_of("s", Thing, Settings(), beat(stroke), {"speed": 0.5})
                   for stroke in (0.5 * 0.015, 0.0001))  # fmt: skip
    for here, there, words in ((fine, still, "no number there"), (still, fine, "it beats there")):
        rate = next(r for r in with_coarser(here, there, 16) if r.quantity == "flap_frequency")
        assert rate.basis.endswith(f"beside 16 cells: {words}")


@pytest.mark.slow
def test_a_coarse_run_leaves_records_picture_and_history(call, tmp_path):
    status, out, _ = call(
        "tail.toml", "--quick", "--cells", "8", "--device", "cpu", "--out", "flow", "--json"
    )
    assert status == 0
    body = json.loads(out)
    found = {r["quantity"]: r for r in body["records"]}
    assert {"stroke", "fold_back", "drag", "side_force"} <= set(found)
    assert found["drag"]["low"] < found["drag"]["value"] < found["drag"]["high"]
    assert "resolved flow, 8 cells" in found["stroke"]["basis"]
    assert found["fold_back"]["value"] > 5.0  # hung paddles fold back
    names = {p.suffix for p in (tmp_path / "flow").iterdir()}
    assert {".png", ".h5", ".json"} <= names
    assert not list((tmp_path / "flow").glob("*stopped*"))
