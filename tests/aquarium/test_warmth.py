"""Two ring-downs at two temperatures: the slope, its doubt, and its way into a case."""

import math
from datetime import UTC, datetime

import numpy as np
import pytest
from bench import STRIP, frequency_of, ringdown_text, table

from simsoft.aquarium.bench.pool import bench_values
from simsoft.aquarium.bench.ringdown import measure_ringdown
from simsoft.aquarium.bench.temperature import slopes
from simsoft.aquarium.files.profile_text import profile_text
from simsoft.aquarium.files.read import measure_files
from simsoft.case.profile import read_profile
from simsoft.case.read import load
from simsoft.lure.parts import assemble
from simsoft.properties.material import DEFAULTS

ROOM = 295.15
TRUE, LOSS_TRUE = 0.030, 0.015  # [1/K]


def in_water(celsius, head=""):
    """Return the text of the strip's case in water of a temperature."""
    return f'{head}{STRIP}[water]\ntemperature = "{celsius} degC"\n'


def ring(celsius, *, strip="A", length=30.0, seed=0, noise=0.02, size_error=0.0):
    """Return the text of a ring-down of 150 kPa at 22 degC, whose rate law is the default."""
    warmer = celsius - 22.0
    modulus, loss = 150e3 * math.exp(-TRUE * warmer), 0.16 * math.exp(-LOSS_TRUE * warmer)
    for _ in range(20):  # the frequency at which the modulus holds is its own
        f = frequency_of(modulus, 1e-3 * length, 0.003 * (1 + size_error), 1020.0)
        modulus = 150e3 * math.exp(-TRUE * warmer) * (f / 6.5) ** DEFAULTS.rate_exponent
    head = f", density_kgm3 = 1020, strip = {strip}" if strip else ", density_kgm3 = 1020"
    text = ringdown_text(f, 0.5 * loss, 3.0, length, noise=noise, seed=seed, extra=head)
    return text.replace("temp_C = 22", f"temp_C = {celsius}")


def measured(*texts):
    return [m for i, text in enumerate(texts) for m in measure_ringdown(table(text, f"{i}.csv"))]


def by_name(found):
    return {m.quantity: m for m in found}


def test_two_ring_downs_give_both_slopes():
    found = by_name(slopes(measured(ring(6.0), ring(22.0, seed=1))))
    slope, loss = found["temperature_slope"], found["loss_slope"]
    assert slope.value == pytest.approx(TRUE, rel=0.03)
    assert abs(slope.value - TRUE) < 2.0 * slope.u < 0.006
    assert abs(loss.value - LOSS_TRUE) < 2.0 * loss.u < 0.02
    assert slope.unit == "1/K"
    assert slope.clear


def test_the_size_of_a_strip_left_in_its_clamp_cancels_and_that_of_two_strips_does_not():
    same = slopes(measured(ring(6.0), ring(22.0)))[0]
    wrong = slopes(measured(ring(6.0, size_error=0.05), ring(22.0, size_error=0.05)))[0]
    assert wrong.value == pytest.approx(same.value, rel=0.02)
    other = slopes(measured(ring(6.0, strip=""), ring(22.0, strip="")))[0]
    assert other.u > 3.0 * same.u


def test_stated_doubt_covers_the_truth():
    """Noise of the swing and a thermometer that is off by half a degree, one sigma."""
    rng = np.random.default_rng(1)
    hits = []
    for seed in range(60):
        off = 0.5 * rng.normal(size=2)
        texts = [ring(t + e, seed=2 * seed + i, noise=0.05) for i, (t, e) in
                 enumerate(zip((6.0, 22.0), off, strict=True))]  # fmt: skip
        read = [t.replace(f"temp_C = {a + e}", f"temp_C = {a}") for t, a, e in
                zip(texts, (6.0, 22.0), off, strict=True)]  # fmt: skip
        slope = slopes(measured(*read))[0]
        hits.append(abs(slope.value - TRUE) < 2.0 * slope.u)
    assert np.mean(hits) >= 0.92


def test_too_narrow_a_span_gives_no_slope_and_a_narrow_one_a_remark():
    assert slopes(measured(ring(20.0), ring(22.0))) == []
    found = slopes(measured(ring(16.0), ring(22.0)))[0]
    assert [flag.word for flag in found.flags] == ["narrow"]


def test_two_lengths_each_at_its_own_temperature_tell_nothing():
    assert slopes(measured(ring(6.0, strip=""), ring(22.0, strip="", length=20.0))) == []


def test_moduli_at_two_temperatures_are_pooled_at_one():
    """Pooled as they stand they would be 27 % apart and carry the first one's temperature."""
    found = measured(ring(6.0), ring(22.0))
    values, notes = bench_values([*found, *slopes(found)])
    modulus = values["youngs_modulus"]
    assert modulus.temperature == pytest.approx(ROOM - 8.0)
    at_6_5 = modulus.value * (6.5 / modulus.frequency) ** DEFAULTS.rate_exponent
    assert at_6_5 == pytest.approx(150e3 * math.exp(8 * TRUE), rel=0.02)
    assert values["temperature_slope"].value == pytest.approx(TRUE, rel=0.05)
    assert any("a degree" in note for note in notes)
    few = measured(ring(20.0), ring(22.0))
    alone = bench_values([*few, *slopes(few)])[0]
    assert alone["youngs_modulus"].temperature == pytest.approx(ROOM - 1.0)
    assert "temperature_slope" not in alone


def test_the_size_of_one_strip_does_not_average_out():
    one = measured(ring(22.0))
    three = measured(*(ring(22.0, seed=seed) for seed in range(3)))
    alone, repeated = (bench_values(found)[0]["youngs_modulus"] for found in (one, three))
    assert repeated.high / repeated.value > 0.98 * alone.high / alone.value
    strips = measured(ring(22.0), ring(22.0, strip="B", length=30.2))
    two = bench_values(strips)[0]["youngs_modulus"]
    assert math.log(two.high / two.value) < 0.8 * math.log(alone.high / alone.value)


def profiled(tmp_path, names, water):
    found = measured(ring(6.0), ring(22.0))
    values, _ = bench_values([*found, *slopes(found)])
    kept = {name: values[name] for name in names}
    text = profile_text("Shop", kept, [], "0.1.0", datetime(2026, 5, 1, tzinfo=UTC), name="s.toml")
    (tmp_path / "s.toml").write_text(text)
    (tmp_path / "case.toml").write_text(in_water(water, 'profile = "s.toml"\n'))
    return assemble(load(tmp_path / "case.toml")).strips[0], values


def test_a_case_uses_the_slopes_of_its_profile(tmp_path):
    """In ice water: modulus and loss factor as the strips show, bands narrower than by default."""
    names = ("youngs_modulus", "loss_factor", "temperature_slope", "loss_slope")
    strip, _ = profiled(tmp_path, names, 2)
    modulus, loss = strip.inputs["modulus"], strip.inputs["loss_factor"]
    assert modulus.value * (6.5 / 0.1) ** 0.1 == pytest.approx(
        150e3 * math.exp(20 * TRUE), rel=0.03
    )
    assert loss.value == pytest.approx(0.16 * math.exp(20 * LOSS_TRUE), rel=0.03)
    plain, _ = profiled(tmp_path, names[:1], 2)
    assert (
        modulus.high / modulus.value < plain.inputs["modulus"].high / plain.inputs["modulus"].value
    )


def test_a_durometer_takes_the_slope_of_the_profile_too(tmp_path):
    strip, values = profiled(tmp_path, ("temperature_slope",), 2)
    (tmp_path / "plain.toml").write_text(in_water(2))
    plain = assemble(load(tmp_path / "plain.toml")).strips[0].inputs["modulus"]
    ours, slope = strip.inputs["modulus"], values["temperature_slope"].value
    assert ours.value / plain.value == pytest.approx(math.exp(20 * (slope - 0.025)))
    assert ours.high / ours.value < plain.high / plain.value
    assert strip.inputs["modulus"].basis.endswith("0.csv 1.csv")


def test_written_and_read_again(tmp_path):
    _, values = profiled(tmp_path, ("temperature_slope", "loss_slope", "loss_factor"), 20)
    again = read_profile(tmp_path / "s.toml").values
    assert again["temperature_slope"].high == pytest.approx(values["temperature_slope"].high, 1e-4)
    assert again["loss_factor"].temperature == pytest.approx(ROOM - 8.0, abs=0.01)


def test_measure_gives_the_slope_of_its_files_and_compare_judges_it(tmp_path):
    from simsoft.aquarium.compare import compare_all
    from simsoft.case.read import loads

    for name, celsius in (("cold", 6.0), ("room", 22.0)):
        (tmp_path / f"{name}.csv").write_text(ring(celsius))
    found = measure_files([tmp_path / "cold.csv", tmp_path / "room.csv"])
    assert [m.quantity for m in found][-2:] == ["temperature_slope", "loss_slope"]
    pair = compare_all(loads(in_water(20)), found[-2:-1])[0]
    assert pair.predicted.value == DEFAULTS.temperature_slope
    assert pair.judgement == "says little"  # the default's band is wide
