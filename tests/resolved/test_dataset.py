"""The kept runs belong to their designs, sealed ones set nothing, and the page is of them."""

import csv
import importlib
import sys
from pathlib import Path

import numpy as np
import pytest

from simsoft.case.read import load
from simsoft.engine.rows import FAR_APART, OF_A_BEAT
from simsoft.engine.uncertainty import FOLD_BACK_ERROR, MODEL_ERROR, SOFT_ERROR
from simsoft.lure.shading import SOFT_SHARE
from simsoft.properties.coefficients import coefficients

ROOT = Path(__file__).parents[2]
FOLDER, CASES = ROOT / "validation" / "resolved", ROOT / "cases"


@pytest.fixture(scope="module")
def tools():
    """The modules of the folder, which is no package."""
    sys.path.insert(0, str(FOLDER))
    try:
        yield {n: importlib.import_module(n) for n in ("design", "jobs", "page", "reduce")}
    finally:
        sys.path.remove(str(FOLDER))


def read(name):
    with (FOLDER / name).open(encoding="utf-8") as file:
        return list(csv.DictReader(file))


def test_the_designs_are_those_of_the_script(tools):
    made = [{k: str(row.get(k, "")) for k in tools["design"].COLUMNS}
            for row in tools["design"].rows()]  # fmt: skip
    assert made == read("designs.csv")


def test_every_kept_run_has_its_design_and_there_are_enough():
    designs = {row["run"] for row in read("designs.csv")}
    results = [row["run"] for row in read("results.csv")]
    assert len(results) == len(set(results)) >= 100
    assert set(results) <= designs


def test_a_third_of_the_tails_is_sealed_at_random():
    others = ("grid", "fine", "box", "reynolds", "ringdown")
    tails = [
        row
        for row in read("designs.csv")
        if row["family"] == "tail" and not row["run"].startswith(others)
    ]
    sealed = sum(row["sealed"] == "1" for row in tails)
    assert 0.25 < sealed / len(tails) < 0.45


def truth(tools):
    """Return the resolved rows that judge: those of the finer grid where there are any."""
    return tools["page"].best(tools["page"].rows("results.csv"))


def test_the_model_tells_moving_from_still_in_most_tails(tools):
    """Wanted are 95 %; what is reached is asserted, so that it cannot get worse unseen."""
    results, reduced = truth(tools), tools["page"].rows("reduced.csv")
    value, moves = tools["page"].value, tools["page"].MOVES
    for sealed, least in (("0", 0.75), ("1", 0.6)):
        runs = [r for r, row in reduced.items() if row["sealed"] == sealed and r in results]
        right = [(value(reduced[r]["stroke_d"]) > moves) == (value(results[r]["stroke_d"]) > moves)
                 for r in runs]  # fmt: skip
        assert np.mean(right) >= least


def test_the_model_s_error_holds_four_fifths_of_the_open_rows(tools):
    """Set by open rows alone; narrowed to nothing or widened without end this fails."""
    results, reduced = truth(tools), tools["page"].rows("reduced.csv")
    for column, quantity in tools["page"].OF_ERROR.items():
        found = tools["page"].ratios(results, reduced, "0", column)
        low, high = MODEL_ERROR[quantity]
        held = np.mean((found >= low) & (found <= high))
        assert 0.75 <= held <= 0.9


def test_the_error_of_the_fold_back_holds_four_fifths_of_the_open_rows(tools):
    results, value, off = truth(tools), tools["page"].value, []
    for name in ("reduced.csv", "reduced_baits.csv"):
        table = tools["page"].rows(name)
        off += [value(results[r]["fold_back_deg"]) - value(row["fold_back_deg"])
                for r, row in table.items() if row["sealed"] == "0" and r in results]  # fmt: skip
    off = np.array(off)[np.isfinite(off)]
    low, high = FOLD_BACK_ERROR
    assert len(off) > 80
    assert 0.75 <= np.mean((off >= low) & (off <= high)) <= 0.9


def test_sealed_rows_lie_inside_about_as_often(tools):
    results, reduced = truth(tools), tools["page"].rows("reduced.csv")
    for column in tools["page"].OF_ERROR:
        held, count = tools["page"].inside(results, reduced, "1", column)
        assert count >= 6
        assert held / count >= 0.6


def test_textbook_runs_are_as_near_to_their_books_as_the_page_says(tools):
    results = tools["page"].rows("results.csv")
    errors = {run + column: abs(float(results[run][column]) / expected - 1.0)
              for run, column, expected, _ in tools["page"].BOOK}  # fmt: skip
    assert errors["ball-100-24drag"] < 0.03
    assert errors["ball-300drag"] < 0.03
    assert errors["cylinder-100strouhal"] < 0.03
    assert errors["plate-thindrag"] < 0.05
    assert errors["disc-thindrag"] > 0.05  # wanted within 5 %, missed: the page says so


def test_the_sphere_converges_at_second_order(tools):
    results = tools["page"].rows("results.csv")
    at = {n: float(results[f"ball-100-{n}"]["drag"]) for n in (12, 16, 24)}
    slopes = [(at[a] - at[b]) / (a**-2 - b**-2) for a, b in ((12, 16), (16, 24))]
    assert slopes[1] == pytest.approx(slopes[0], rel=0.25)


def test_the_page_is_the_one_of_the_kept_rows(tools, tmp_path, monkeypatch):
    page = tools["page"]
    monkeypatch.setattr(page, "PAGE", tmp_path / "RESOLVED.md")
    monkeypatch.setattr(page, "PICTURE", tmp_path / "sweeps.png")
    monkeypatch.setattr(page.page_baits, "PICTURE", tmp_path / "against.png")
    page.main()
    kept = (FOLDER.parent / "RESOLVED.md").read_text(encoding="utf-8")
    assert (tmp_path / "RESOLVED.md").read_text(encoding="utf-8") == kept


@pytest.mark.parametrize("run", ["offset-6", "body-deep-6-0.5", "sway-0.2-0.2", "ringdown-0",
                                 "ball-100-12", "cylinder-100", "ramp-6-3",
                                 "swim-0.6", "fine-bait-03"])  # fmt: skip
def test_a_row_becomes_a_job_that_fits_its_box(tools, run):
    from simsoft.resolved.run import lay_out

    row = {r["run"]: r for r in read("designs.csv")}[run]
    job, settings = tools["jobs"].job_of(row)
    grid = lay_out(job, settings)
    x0, x1, y0, y1, z0, z1 = grid.domain.window
    nx, ny, nz = grid.domain.shape
    assert 0 < x0 < x1 < nx
    assert 0 < y0 < y1 < ny
    assert 0 < z0 < z1 < nz
    if row["reynolds"]:
        assert job.reynolds == pytest.approx(float(row["reynolds"]))


def test_a_harmonic_is_found_in_phase_and_out_of_it(tools):
    time = np.linspace(0.3, 2.1, 800)
    signal = 0.7 * np.sin(5.0 * time) - 0.2 * np.cos(5.0 * time) + 3.0
    found = tools["reduce"].harmonic(time, signal, 5.0 / (2.0 * np.pi))
    assert found == pytest.approx(0.7 - 0.2j)


def test_a_third_of_the_baits_is_sealed_and_no_path_is_of_one():
    import h5py

    rows = {r["run"]: r for r in read("designs.csv") if r["family"] == "bait"}
    judges = [r for r in rows.values() if r["body"] != "swim_97" and r["cells"] == "24"]
    assert 0.2 < np.mean([r["sealed"] == "1" for r in judges]) < 0.45
    with h5py.File(FOLDER / "paths.h5", "r") as file:
        assert len(file) >= 30
        assert all(rows[run]["sealed"] == "0" for run in file)


def test_soft_bodied_baits_beat_in_both_models_and_a_held_stem_in_neither(tools):
    """Of the baits 95 % were wanted right; rates are near, strokes less so.

    The demo held at its stem beats a little at 0.9 m/s by the reduced model, where 24 cells stir:
    that is asserted so that it cannot grow unseen. The rows on 36 cells brought it from 0.16 D
    to 0.21 D.
    """
    results, reduced = truth(tools), tools["page"].rows("reduced_baits.csv")
    value, moves = tools["page"].value, tools["page"].MOVES
    for sealed, least in (("0", 0.9), ("1", 0.9)):
        runs = [r for r, row in reduced.items() if row["sealed"] == sealed and r in results]
        right = [(value(reduced[r]["stroke_d"]) > moves) == (value(results[r]["stroke_d"]) > moves)
                 for r in runs]  # fmt: skip
        assert np.mean(right) >= least
    assert max(value(t["swim-stiff-0.6"]["stroke_d"]) for t in (results, reduced)) < moves
    assert value(results["swim-stiff-0.9"]["stroke_d"]) < moves
    assert value(reduced["swim-stiff-0.9"]["stroke_d"]) < 2.2 * moves


def test_the_error_of_soft_stems_holds_four_fifths_of_the_open_baits(tools):
    """Set by open baits alone; sealed ones lie inside about as often."""
    results, reduced = truth(tools), tools["page"].rows("reduced_baits.csv")
    for column in tools["page"].OF_ERROR:
        held, count = tools["page"].inside(results, reduced, "0", column, SOFT_ERROR)
        assert count >= 25
        assert 0.75 <= held / count <= 0.92
        held, count = tools["page"].inside(results, reduced, "1", column, SOFT_ERROR)
        assert count >= 8
        assert held / count >= (0.6 if column == "sweep_d" else 0.7)


def test_what_a_change_leaves_open_is_what_open_pairs_ask_for(tools, monkeypatch):
    """Set by open pairs; designs left out lie inside as often as was meant.

    So do sealed rates. Of sealed strokes the band of 80 % holds 76 %, short of what was meant;
    what is reached is asserted, so that it cannot get worse unseen.
    """
    monkeypatch.syspath_prepend(str(FOLDER))
    pairs = importlib.import_module("pairs")
    for quantity, (of_change, least) in OF_A_BEAT.items():
        column = pairs.COLUMNS[quantity]
        alike, other = (pairs.pairs(column, "0", same) for same in (True, False))
        assert len(alike.names) >= 20
        assert of_change == pytest.approx(pairs.share(alike), rel=0.1)
        assert least == pytest.approx(pairs.floor(other, of_change, FAR_APART), rel=0.1)
        first, second = pairs.left_out(other, of_change, FAR_APART)
        assert first == pytest.approx(0.8, abs=0.03)
        assert second == pytest.approx(0.9, abs=0.04)
        sealed = pairs.pairs(column, "1", False)
        inside = pairs.held(sealed, of_change, least, FAR_APART)
        assert len(sealed.names) > 50
        assert inside[0] / len(sealed.names) >= {"flap_frequency": 0.8, "stroke": 0.75}[quantity]
        assert inside[1] / len(sealed.names) >= 0.85


def test_shapes_far_apart_leave_more_open_than_near_ones(tools, monkeypatch):
    """The error of a rate grows with the distance between the shapes, not with its change."""
    monkeypatch.syspath_prepend(str(FOLDER))
    pairs = importlib.import_module("pairs")
    found = pairs.pairs("strouhal", "0", False)
    near, far = (found.those(chosen) for chosen in (found.distance < 0.5, found.distance > 0.7))
    assert len(near.names) > 200
    assert (near.error**2).mean() < 0.25 * (far.error**2).mean()
    small = abs(far.change) < 0.1
    assert (far.error[small] ** 2).mean() > 0.5 * (far.error[~small] ** 2).mean()


@pytest.fixture(scope="module")
def fit(tools):
    """The script that sets the coefficients, its runs and their bands' halves."""
    sys.path.insert(0, str(FOLDER))
    try:
        script = importlib.import_module("fit")
    finally:
        sys.path.remove(str(FOLDER))
    bands = coefficients(load(CASES / "paddle_100.toml").parts[0]) | {"soft_share": SOFT_SHARE}
    halves = {name: 0.5 * (bands[name].high - bands[name].low) for name in script.FREE}
    return script, script.all_runs(), halves


@pytest.mark.slow
def test_the_coefficients_are_those_that_the_rows_ask_for(fit):
    """Least squares on all open runs leads from the defaults nowhere far."""
    script, runs, halves = fit
    here, there = script.defaults(), script.set_on(runs)
    for name, half in halves.items():
        assert abs(there[name] - here[name]) < 0.35 * half, name


@pytest.mark.slow
def test_a_coefficient_moved_by_half_its_band_fits_the_runs_worse(fit):
    """Two are hardly felt: with less of them the runs are fitted as well, with more not."""
    script, runs, halves = fit
    here = script.defaults()
    least = (script.misfit(runs, here) ** 2).sum()
    for name, half in halves.items():
        hardly_felt = name in ("rotary_damping", "centre_of_pressure")
        for sign in (1.0,) if hardly_felt else (1.0, -1.0):
            tried = here | {name: max(here[name] + sign * half, 0.0)}
            assert (script.misfit(runs, tried) ** 2).sum() > least, (name, sign)


@pytest.mark.slow
def test_the_kept_reduced_answers_are_those_of_today(tools, monkeypatch):
    monkeypatch.syspath_prepend(str(FOLDER))
    compare = importlib.import_module("compare")
    kept = tools["page"].rows("reduced_baits.csv")
    row = next(r for r in compare.baits() if r["run"] == "swim-0.6")
    today = compare.reduced_bait(row)
    assert float(today["strouhal"]) == pytest.approx(float(kept["swim-0.6"]["strouhal"]), rel=0.01)
    assert float(today["stroke_d"]) == pytest.approx(float(kept["swim-0.6"]["stroke_d"]), rel=0.03)
