"""Two designs by repeated runs: Welch's band, equal speeds, further runs, nothing pooled untold."""

import json
from dataclasses import replace

import numpy as np
import pytest
from bench import sine_rows, track_text
from scipy import stats

from simsoft.aquarium.compare import grouped
from simsoft.aquarium.files.folder import read_design
from simsoft.aquarium.measured import Flag, Measured, lacking
from simsoft.aquarium.two_designs import contrasts, doubtful, unsaid
from simsoft.aquarium.welch import repeats_of, welch_difference
from simsoft.cli import main as cli
from simsoft.core.errors import InputError
from simsoft.report.text.two_designs import (
    left_out,
    left_unsaid,
    two_designs_page,
    verdict_text,
)


def runs(values, quantity="flap_frequency", unit="Hz", speed=0.5, u=0.0, **at):
    speeds = [speed] * len(values) if isinstance(speed, float) else speed
    return [
        Measured(quantity, v, u, unit, "test", 5, {"speed": s, **at}, run=f"r{i}")
        for i, (v, s) in enumerate(zip(values, speeds, strict=True))
    ]


def test_the_band_is_welchs():
    a, b = [5.0, 5.2, 4.9, 5.1], [5.6, 5.9, 5.5]
    found = welch_difference(repeats_of(a, [0.0] * 4), repeats_of(b, [0.0] * 3))
    wanted = stats.ttest_ind(b, a, equal_var=False).confidence_interval(0.95)
    assert (found.low, found.high) == pytest.approx((wanted.low, wanted.high), rel=1e-9)
    assert found.resolved


def test_bands_hold_the_true_difference_as_often_as_they_say():
    rng, held = np.random.default_rng(3), 0
    for _ in range(600):
        a, b = rng.normal(5.0, 0.2, 4), rng.normal(5.3, 0.5, 6)
        found = welch_difference(repeats_of(a, np.zeros(4)), repeats_of(b, np.zeros(6)))
        held += found.low <= 0.3 <= found.high
    assert 0.92 <= held / 600 <= 0.98


def test_the_further_runs_named_resolve_it_about_as_often_as_said():
    a, b = [5.0, 5.3, 4.8], [5.4, 5.6, 5.1]
    found = welch_difference(repeats_of(a, [0.0] * 3), repeats_of(b, [0.0] * 3))
    assert not found.resolved
    n, scatter = 3 + found.more, float(np.std(a, ddof=1))
    rng, seen = np.random.default_rng(5), 0
    for _ in range(500):
        one, other = rng.normal(0.0, scatter, n), rng.normal(found.difference, scatter, n)
        seen += welch_difference(
            repeats_of(one, np.zeros(n)), repeats_of(other, np.zeros(n))
        ).resolved
    assert 0.74 <= seen / 500 <= 0.90


def test_scatter_is_never_less_than_the_readings_state():
    assert repeats_of([5.0, 5.0], [0.2, 0.2]).scatter == pytest.approx(0.2)


def test_what_goes_with_the_speed_alone_is_no_difference():
    slow, fast = (0.48, 0.5, 0.52, 0.5), (0.52, 0.54, 0.55, 0.53)
    first = runs([10.0 * v for v in slow], speed=slow, u=0.02)
    second = runs([10.0 * v for v in fast], speed=fast, u=0.02)
    (contrast,) = contrasts(first, second)
    assert not contrast.resolved
    assert contrast.speeds == pytest.approx((0.4998, 0.5349), abs=1e-3)
    assert abs(contrast.apart.difference) < 0.1


def test_other_speeds_and_other_water_are_not_compared():
    first = [*runs([5.0, 5.1], temperature=293.0), *runs([8.0, 8.1], speed=0.8, temperature=293.0)]
    second = runs([6.0, 6.1], temperature=285.0)
    found = contrasts(first, second, ("A", "B"))
    assert all(c.alone and c.apart is None for c in found)
    assert "A alone was run at 0.8 m/s" in " ".join(two_designs_page(found, ("A", "B"), []).split())


def test_a_run_without_speed_in_doubt_or_alone_is_not_judged():
    (contrast,) = contrasts(runs([5.0]), runs([6.0, 6.1]), ("A", "B"))
    assert verdict_text(contrast, ("A", "B")).startswith("not compared: one run of A")
    bare = [Measured("flap_frequency", 5.0, 0.1, "Hz", "t", 5)] * 2
    assert "at what speed is not said" in contrasts(bare, runs([6.0, 6.1]))[0].reason
    doubt = [Measured("stroke", 1.0, 0.0, "m", "t", 5, {"speed": 0.5}, (Flag("plane", "x"),))] * 3
    assert not contrasts(doubt, doubt)


@pytest.mark.parametrize("condition", ["speed", "temperature"])
@pytest.mark.parametrize("quantity", ["flap_frequency", "left_right_bias"])
def test_a_run_that_does_not_say_a_condition_spoils_no_other(quantity, condition):
    spoken = runs([5.0, 5.1, 5.05], quantity, temperature=291.0)
    at = {key: value for key, value in spoken[0].at.items() if key != condition}
    silent = replace(spoken[0], value=9.0, at=at, run="run9")
    second = runs([6.0, 6.1], quantity, temperature=291.0)
    assert contrasts([silent, *spoken], second) == contrasts(spoken, second)
    assert contrasts(second, [*spoken, silent]) == contrasts(second, spoken)
    left = unsaid([silent, *spoken])
    assert [m.run for m, _ in left] == ["run9"]
    (note,) = left_unsaid(left)
    assert note.startswith("run9: ")
    assert left[0][1] in note


def test_where_most_say_no_temperature_the_one_that_does_is_no_rule():
    silent = runs([5.0, 5.1, 5.05])
    spoken = runs([5.5], temperature=291.0)
    second = runs([6.0, 6.1], temperature=291.0)
    assert unsaid([*silent, *spoken]) == []
    compared = [c for c in contrasts([*spoken, *silent], second) if not c.alone]
    assert [c.sides[0].n for c in compared] == [3]


def test_a_folder_without_speeds_is_named():
    bare = [Measured("flap_frequency", 5.0, 0.1, "Hz", "t", 5)] * 2
    (contrast,) = contrasts(runs([6.0, 6.1]), bare, ("thin", "thick"))
    assert contrast.reason.startswith("at what speed is not said of thick; speed_mps in")


def test_an_unsaid_view_is_told_once_with_what_to_write():
    flag = (Flag("view", "the view was not said"),)
    found = [
        replace(m, flags=flag)
        for name in ("flap_frequency", "stroke")
        for m in runs([5.0, 5.1, 5.2, 5.0], name)
    ]
    (note,) = left_out(doubtful(found))
    assert note.startswith("r0, r1, r2, r3: rate, stroke left out, in doubt (view)")
    assert "# view = below" in note


def test_runs_that_do_not_beat_count():
    still = [lacking("flap_frequency", "Hz", "t", "no beat: x") for _ in range(5)]
    still = [Measured(**{**vars(m), "at": {"speed": 0.5}}) for m in still]
    (contrast,) = contrasts(still, runs([5.0, 5.1, 4.9, 5.0, 5.2]), ("A", "B"))
    assert contrast.resolved
    assert "A beats in 0 of 5 runs, B in 5 of 5" in verdict_text(contrast, ("A", "B"))


def test_designs_given_together_are_not_pooled():
    two = [*runs([5.0, 5.1], case_id="a"), *runs([6.0, 6.1], case_id="b")]
    assert [m.value for m in grouped(two)] == pytest.approx([5.05, 6.05])


@pytest.fixture
def folders(tmp_path, monkeypatch):
    """Two designs of three tracks each, conditions in runs.csv."""
    monkeypatch.chdir(tmp_path)
    for name, rate in (("A", 5.0), ("B", 6.0)):
        (tmp_path / name).mkdir()
        rows = ["run_id,view,speed_mps,temp_C"]
        for i in range(3):
            time, y = sine_rows(rate * (1.0 + 0.01 * i), 8.0, 2.0, 120)
            text = track_text(time, 0 * y, y)
            bare = "\n".join(row for row in text.splitlines() if not row.startswith("#"))
            (tmp_path / name / f"r{i}.csv").write_text(bare + "\n")
            rows.append(f"r{i},below,0.4,18")
        (tmp_path / name / "runs.csv").write_text("\n".join(rows) + "\n")
    return tmp_path


def call(*words):
    with pytest.raises(SystemExit) as caught:
        cli.main(list(words))
    return caught.value.code


def test_two_folders_are_compared(folders, capsys):
    assert call("compare", "A/", "B/", "--out", "kept") == 0
    out = capsys.readouterr().out
    assert "rate, 0.4 m/s, 18 degC" in out
    assert "apart: higher in B" in out
    assert max(map(len, out.splitlines())) <= 80
    assert (folders / "kept" / "difference.html").exists()
    assert call("compare", "A", "B", "--json") == 0
    body = json.loads(capsys.readouterr().out)
    assert body["contrasts"][0]["resolved"]


def test_a_run_counts_once(folders, capsys):
    assert call("measure", "A/r0.csv", "A/r1.csv", "A/runs.csv", "--out", "A/seen", "--quiet") == 0
    beats = [m for m in read_design(folders / "A").runs if m.quantity == "flap_frequency"]
    assert sorted(m.run for m in beats) == ["r0", "r1", "r2"]
    assert all(m.at["view"] == "below" and m.clear for m in beats)


def test_a_folder_of_two_designs_is_refused(folders):
    listed = "run_id,view,speed_mps,case_id\nr0,below,0.4,x\nr1,below,0.4,y\nr9,below,0.4,y\n"
    (folders / "A" / "runs.csv").write_text(listed)
    with pytest.raises(InputError, match="runs of 2 designs"):
        read_design(folders / "A")
    found = read_design(folders / "A", pooled=True)
    assert any("r9" in note for note in found.notes)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("A",), "1 given"),
        (("A", "B", "C"), "3 given"),
        (("A", "A/"), "one folder"),
        (("A", "empty"), "holds no clip"),
        (("A", "A/r0.csv"), "is a directory"),
        (("Aa", "B"), "Aa: there is no such folder (did you mean `A`?)"),
        (("A", "Bb"), "Bb: there is no such folder (did you mean `B`?)"),
        (("A", "B", "--lock", "x"), "two folders have none"),
        (("A", "B", "--locked", "A"), "two folders have none"),
    ],
)
def test_wrong_folders_are_one_line(folders, capsys, words, said):
    (folders / "empty").mkdir()
    (folders / "C").mkdir()
    assert call("compare", *words) == 2
    streams = capsys.readouterr()
    assert said in streams.err
    assert len(streams.err.strip().splitlines()) == 1
    assert streams.out == ""
