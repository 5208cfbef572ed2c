"""Bench tests against closed forms and published values."""

import math
from dataclasses import replace

import numpy as np
import pytest
from bench import frequency_of, ringdown_text, table

from simsoft.aquarium.bench.droop import droop_load, droop_ratio, measure_droop, measure_weights
from simsoft.aquarium.bench.fall import measure_casts, measure_counts, measure_falls
from simsoft.aquarium.bench.pool import bench_values
from simsoft.aquarium.bench.ringdown import fit_decay, measure_ringdown, modulus_of
from simsoft.aquarium.files.read import measure_table
from simsoft.aquarium.measured import Measured, pooled
from simsoft.core.errors import InputError


@pytest.mark.parametrize("ratio", [0.01, 0.05, 0.1, 0.2])
def test_ring_down_against_the_closed_form(ratio):
    """Decrement 2 pi zeta/sqrt(1 - zeta^2); 0.314553 at zeta 0.05 (published check A13)."""
    time = np.arange(0.0, 3.0, 1 / 240)
    angular = 2 * math.pi * 6.0
    signal = np.exp(-ratio * angular * time) * np.cos(angular * math.sqrt(1 - ratio**2) * time)
    found = fit_decay(time, signal)
    assert found.ratio == pytest.approx(ratio, rel=1e-3)
    assert found.undamped == pytest.approx(6.0, rel=1e-4)
    assert found.decrement == pytest.approx(2 * math.pi * ratio / math.sqrt(1 - ratio**2), rel=1e-3)
    if ratio == 0.05:
        assert found.decrement == pytest.approx(0.314553, rel=1e-3)


def test_stated_uncertainty_of_a_ring_down_covers_the_truth():
    hits = []
    for seed in range(40):
        text = ringdown_text(6.5, 0.08, 3.0, 30.0, noise=0.05, seed=seed)
        loss = measure_ringdown(table(text))[1]
        hits.append(abs(loss.value - 0.16) < 2.0 * loss.u)
    assert np.mean(hits) >= 0.85


def test_the_handbook_strip():
    """t 3 mm, L 30 mm, 150 kPa, 1020 kg/m3 swings at 6.5 Hz: 0.1615 t/L^2 sqrt(E/rho)."""
    assert frequency_of(150e3, 0.030, 0.003, 1020.0) == pytest.approx(
        0.1615 * 0.003 / 0.030**2 * math.sqrt(150e3 / 1020.0), rel=5e-4
    )
    found = frequency_of(150e3, 0.030, 0.003, 1020.0)
    assert modulus_of(found, 0.030, 0.003, 1020.0) == pytest.approx(150e3, rel=1e-12)


def test_the_rod_of_the_solver_swings_at_the_same_rate():
    """Independent twin: natural frequency in air of the same strip by the rod model."""
    from simsoft.case.read import loads
    from simsoft.engine.run import run
    from simsoft.results.record import select

    case = loads(
        'title = "strip"\n[material]\nyoungs_modulus = "150 kPa"\ndensity = "1020 kg/m^3"\n'
        '[[parts]]\nname = "strip"\nkind = "strip"\nlength = "30 mm"\nwidth = "10 mm"\n'
        'thickness = "3 mm"\nbending = "beam"\n[[scenarios]]\nname = "air"\nkind = "hold"\n'
        "gravity = false\nmodes = 1\n"
    )
    found = select(run(case, bands=False).records, "natural_frequency", medium="air")[0]
    assert found.value == pytest.approx(frequency_of(150e3, 0.030, 0.003, 1020.0), rel=5e-3)


@pytest.mark.parametrize(
    ("load", "ratio"), [(0.1, 0.1 / 8.0 * 0.99985), (1.0, 0.12347), (5.0, 0.4959), (20.0, 0.8298)]
)
def test_droop_is_the_heavy_elastica(load, ratio):
    """Small loads q/8; the inverse returns the load."""
    assert droop_ratio(load) == pytest.approx(ratio, rel=2e-3)
    assert droop_load(ratio) == pytest.approx(load, rel=5e-3)


def test_droop_agrees_with_the_published_heavy_cantilever():
    """Check A04: tip of a heavy elastica clamped level, from its own table."""
    import tomllib

    from simsoft.validate.locate import checks_directory

    expected = tomllib.loads((checks_directory() / "A04" / "expected.toml").read_text())
    droops = {
        float(run["condition"].partition("= ")[2]): run["expect"]["w/L"] for run in expected["runs"]
    }
    assert len(droops) >= 8
    for load, droop in droops.items():
        assert droop_ratio(load) == pytest.approx(droop, rel=1e-3)


def test_droop_recovers_the_modulus():
    load = 12 * 1020 * 9.80665 * 0.023**3 / (150e3 * 0.003**2)
    text = f"# t_mm = 3\nL_mm,droop_mm\n23,{23 * droop_ratio(load):.4f}\n"
    found = measure_droop(table(text))[0]
    assert found.value == pytest.approx(150e3, rel=1e-3)
    assert 0.05 < found.u / found.value < 0.3


def test_weighing_is_archimedes():
    found = measure_weights(table("part_id,mass_g,mass_sub_g,water_C\na,10,0.20,20\n"))[0]
    assert found.value == pytest.approx(998.2 * 10 / 9.8, rel=1e-4)
    assert found.u / found.value == pytest.approx(0.001, rel=0.2)


def test_a_fall_with_its_approach_gives_the_steady_rate():
    time = np.arange(0.1, 3.0, 0.1)
    depth = 200 * (time - 0.3 * (1 - np.exp(-time / 0.3)))
    rows = "".join(f"a,{d:.4f},{t:.3f},4\n" for d, t in zip(depth, time, strict=True))
    found = measure_falls(table("run_id,depth_mm,t_s,attitude_deg\n" + rows))
    assert found[0].value == pytest.approx(0.200, rel=2e-3)
    assert found[1].quantity == "attitude"
    assert found[1].value == pytest.approx(4.0)


def test_counts_carry_half_a_beat_of_doubt():
    text = "run_id,t_start_s,t_end_s,n_beats,distance_mm,view\na,0,1.5,9,600,below\n"
    found = measure_counts(table(text))[0]
    assert found.value == pytest.approx(6.0)
    assert found.at["speed"] == pytest.approx(0.4)
    assert found.u / found.value > 0.5 / 9 / math.sqrt(3)
    side = measure_counts(table(text.replace("below", "side")))[0]
    assert side.value == pytest.approx(3.0)


def test_casts_are_grouped_by_wind():
    text = "cast_id,distance_m,wind_mps,wind_dir_deg\n1,30,0,0\n2,32,0,0\n3,20,5,0\n"
    found = measure_casts(table(text))
    assert [m.value for m in found] == [31.0, 20.0]
    assert found[1].at["head_wind"] == 5.0


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("# L_mm = 30\nt_s,x_mm\n" + "".join(f"{i},1\n" for i in range(20)), "size is missing"),
        ("# t_mm=3, L_mm=30\nt_s,x_mm\n" + "".join(f"{i},1\n" for i in range(20)), "no ring-down"),
        ("L_mm,droop_mm\n23,3\n", "thickness is missing"),
        ("# t_mm=3\nL_mm,droop_mm\n23,22\n", "droop over length"),
        ("mass_g,mass_sub_g\n5,6\n", "above"),
    ],
)
def test_bench_faults_are_one_line(text, said):
    from simsoft.aquarium.files.read import measure_table

    with pytest.raises(InputError, match=said):
        measure_table(table(text))


WEIGHINGS = "part_id,mass_g,mass_sub_g,water_C\n"


@pytest.mark.parametrize(("row", "given"), [("b,3,2.9,20", "2.99e+04"), ("b,3,-90,20", "32.2")])
def test_masses_of_no_soft_plastic_are_refused_with_their_line(row, given):
    with pytest.raises(InputError) as refused:
        measure_table(table(f"{WEIGHINGS}a,3,0.1,20\n{row}\n"))
    (line,) = refused.value.problems
    assert f"line 3: the masses give {given} kg/m3; 500 to 3000 is allowed of soft" in line


def test_weighings_that_agree_on_nothing_teach_no_profile():
    (found,) = measure_table(table(f"{WEIGHINGS}a,3,1.9,20\nb,3,-2.9,20\n"))
    assert not found.clear
    assert found.value - found.u < 0.0
    values, notes = bench_values([found])
    assert values == {}
    assert any("density: not used (repeats-disagree)" in note for note in notes)


def test_runs_that_agree_on_nothing_are_pooled_under_a_severe_flag_and_teach_no_profile():
    runs = [
        Measured("density", value, 5.0, "kg/m^3", "weighed", 1, run=name)
        for name, value in (("a", 600.0), ("b", 2900.0))
    ]
    assert not pooled(runs).clear
    values, notes = bench_values(runs)
    assert values == {}
    assert any("density: not used (repeats lie from 600 to 2.9e+03 kg/m^3" in n for n in notes)
    near = [runs[0], replace(runs[0], value=640.0)]
    assert pooled(near).clear
    assert set(bench_values(near)[0]) == {"density"}
