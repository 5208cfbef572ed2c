"""Tracks to beats: right numbers, and never a confident wrong one."""

import math

import numpy as np
import pytest
from bench import sine_rows, table, track_text

from simsoft.aquarium.files.read import measure_table
from simsoft.aquarium.files.track import Track, read_track
from simsoft.aquarium.signal.beat import measure_beat
from simsoft.aquarium.signal.ramp import measure_start


def beats(time, x, y, header="# view = below\n", **options):
    found = measure_beat(read_track(table(track_text(time, x, y, header))), **options)
    return {m.quantity: m for m in found}


def words(measured):
    return {flag.word for flag in measured.flags}


def test_a_clear_track_gives_beat_stroke_and_bias():
    time, y = sine_rows(5.8, 12.0, 2.0, 120, noise=0.2)
    found = beats(time, 0.3 * np.cos(4 * math.pi * 5.8 * time), y)
    assert found["flap_frequency"].value == pytest.approx(5.8, rel=2e-3)
    assert found["stroke"].value == pytest.approx(0.024, rel=0.02)
    assert abs(found["left_right_bias"].value) < 0.05
    assert found["flap_frequency"].clear
    assert found["flap_frequency"].n == 11
    assert 0.0 < found["flap_frequency"].u < 0.05


def test_from_the_side_a_sideways_beat_is_halved_and_has_no_stroke():
    time, x = sine_rows(10.0, 3.0, 2.0, 120)
    found = beats(time, x, 0 * x, "# view = side\n")
    assert found["flap_frequency"].value == pytest.approx(5.0, rel=1e-3)
    assert "halved" in words(found["flap_frequency"])
    assert found["stroke"].value is None
    vertical = beats(time, 0 * x, x, "# view = side\n# sweep = vertical\n")
    assert vertical["flap_frequency"].value == pytest.approx(10.0, rel=1e-3)


def test_a_track_without_a_view_is_in_doubt():
    time, y = sine_rows(5.0, 12.0, 2.0, 120)
    found = beats(time, 0 * y, y, "")
    assert "view" in words(found["flap_frequency"])
    assert not found["flap_frequency"].clear


def test_motion_along_the_tail_is_not_taken_for_a_sweep():
    time, x = sine_rows(10.0, 3.0, 2.0, 120)
    rows = "".join(f"{a:.5f},{40 + b:.4f},0.0,0,0\n" for a, b in zip(time, x, strict=True))
    track = read_track(table("# view = below\nt_s,x_mm,y_mm,xb_mm,yb_mm\n" + rows))
    assert "along" in words(measure_beat(track)[0])


def test_every_second_stroke_different_is_flagged_as_a_double_beat():
    time = np.arange(0.0, 3.0, 1 / 120)
    y = 10 * np.sin(2 * math.pi * 8 * time) + 4 * np.sin(2 * math.pi * 4 * time + 1)
    assert "double-beat" in words(beats(time, 0 * y, y)["flap_frequency"])


@pytest.mark.parametrize("true", [9.0, 14.0, 22.0, 28.0])
def test_an_aliased_beat_is_never_clear(true):
    time, y = sine_rows(true, 10.0, 3.0, 24, noise=0.1)
    found = beats(time, 0 * y, y)["flap_frequency"]
    assert not found.clear
    assert words(found) & {"alias", "few-frames"}


def test_uneven_stamps_resolve_an_alias():
    rng = np.random.default_rng(5)
    time = np.cumsum(rng.uniform(0.6, 1.4, 120) / 30.0)
    y = 10.0 * np.sin(2 * math.pi * 22.0 * time)
    found = beats(time, 0 * y, y)["flap_frequency"]
    assert found.value == pytest.approx(22.0, rel=5e-3)


def test_a_wrong_unit_is_asked_about():
    """Millimetres called metres, and milliseconds called seconds."""
    time, y = sine_rows(4.1, 12.0, 3.0, 120, noise=0.2)
    metres = track_text(time, 0 * y, y, columns="t_s,x_m,y_m")
    assert "units" in words(measure_beat(read_track(table(metres)))[0])
    slow = beats(1e3 * time, 0 * y, y)["flap_frequency"]
    assert "units" in words(slow)
    assert not slow.clear
    quick = beats(1e-3 * time, 0 * y, y)["flap_frequency"]
    assert "another unit" in quick.reason


def test_at_60_frames_a_slow_beat_is_clear():
    time, y = sine_rows(4.0, 10.0, 2.5, 60, noise=0.1)
    assert beats(time, 0 * y, y)["flap_frequency"].clear


def test_noise_has_no_beat():
    rng = np.random.default_rng(1)
    time = np.arange(0.0, 3.0, 1 / 60)
    found = beats(time, 0 * time, rng.normal(size=len(time)))
    assert found["flap_frequency"].value is None
    assert "no beat" in found["flap_frequency"].reason


def test_a_start_up_is_left_out_of_the_stroke():
    time, y = sine_rows(5.0, 12.0, 3.0, 120)
    found = beats(time, 0 * y, y * np.clip(time / 1.0, 0.0, 1.0))
    assert found["stroke"].value == pytest.approx(0.024, rel=0.03)


@pytest.mark.parametrize("start", [0.25, 0.4])
def test_a_ramp_gives_the_start_speed(start):
    time = np.arange(0.0, 20.0, 1 / 60)
    speed = 0.1 + 0.03 * time
    y = 20 * np.sqrt(np.clip(speed - start, 0, None)) * np.sin(2 * math.pi * 5 * time)
    y += 0.1 * np.random.default_rng(0).normal(size=len(time))
    track = Track("ramp", time, 1e-3 * np.column_stack([0 * y, y]), speed=speed, view="below")
    found = measure_start(track)
    assert found.value == pytest.approx(start, abs=2.0 * found.u)
    assert found.u < 0.05


def test_a_ramp_that_never_beats_has_no_start_speed():
    time = np.arange(0.0, 10.0, 1 / 60)
    y = 1e-4 * np.random.default_rng(0).normal(size=len(time))
    track = Track("ramp", time, np.column_stack([0 * y, y]), speed=0.1 + 0.03 * time)
    assert measure_start(track).value is None


def test_a_speed_column_makes_a_track_a_ramp():
    time, y = sine_rows(5.0, 8.0, 10.0, 60)
    rows = "".join(
        f"{a:.4f},0,{b * (a > 4):.4f},{0.1 + 0.05 * a:.4f}\n" for a, b in zip(time, y, strict=True)
    )
    found = measure_table(table("# view = below\nt_s,x_mm,y_mm,speed_mps\n" + rows))
    assert [m.quantity for m in found] == ["start_speed"]
