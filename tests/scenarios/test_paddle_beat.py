"""What makes a paddle beat: how it hangs. Motions side by side, bands on the mesh of the number."""

from dataclasses import replace
from pathlib import Path

from simsoft.case.read import load
from simsoft.engine.run import run
from simsoft.report.text.run import summary
from simsoft.results.record import select

CASES = Path(__file__).parents[2] / "cases"
SLOW, FAST = 0.15, 0.6


def answered(*overrides, bands=False, speeds='["0.15 m/s", "0.6 m/s"]'):
    changes = [f"scenarios.retrieve.speed={speeds}", *overrides]
    case = load(CASES / "paddle_100.toml", changes)
    alone = tuple(replace(part, body_ahead=None) for part in case.parts)
    return run(replace(case, parts=alone), bands=bands)


def number(result, quantity, **at):
    return select(result.records, quantity, **at)[0].value


def test_a_centred_paddle_starts_later_than_a_hung_one():
    """By a third; by 1.39 times (6 mm) on slow ramps of the resolved flow (ramp rows there)."""
    centred, hung = answered("parts.tail.paddle_offset=0 mm"), answered()
    assert number(centred, "start_speed") > 1.3 * number(hung, "start_speed")
    assert [number(centred, "verdict", speed=s) for s in (SLOW, FAST)] == ["still", "kicks"]
    assert number(centred, "stroke", speed=FAST) < 0.7 * number(hung, "stroke", speed=FAST)
    (start,) = select(hung.records, "start_speed")
    assert "eigenvalues" in start.basis
    assert "screening" in start.basis
    assert SLOW < start.value < FAST
    assert [number(hung, "verdict", speed=s) for s in (SLOW, FAST)] == ["still", "kicks"]


def test_a_heavier_paddle_starts_no_later_and_beats_slower():
    thin, thick = (answered(f"parts.tail.paddle_thickness={t} mm") for t in (2, 4))
    assert number(thick, "start_speed") <= number(thin, "start_speed")
    assert number(thick, "start_frequency") < 0.8 * number(thin, "start_frequency")


def test_the_wake_that_a_paddle_drags_along_starts_it_earlier():
    none, less, more = (
        number(answered(f"parts.tail.loads.rim_force={c}"), "start_speed") for c in (0, 2, 4)
    )
    assert none is None
    assert more < 0.9 * less


def test_motions_side_by_side_are_searched_for_paddles_and_told():
    changed = (
        *("parts.tail.paddle_offset=3 mm", "parts.tail.loads.munk=0.6"),
        "parts.tail.loads.rim_force=2.5",
    )
    found = answered(*changed, speeds='["0.9 m/s", "1 m/s"]')
    small, large = (number(found, q, speed=1.0) for q in ("stroke", "stroke_from_above"))
    assert large > 2.0 * small
    text = " ".join(summary(found).split())
    assert "Side by side: at 0.9 m/s" in text
    assert "from a large one" in text


def test_a_paddle_that_beats_says_how_far_its_stroke_is_to_be_trusted():
    beats, still = answered(), answered(speeds='["0.1 m/s", "0.15 m/s"]')
    told = [" ".join(summary(found).split()) for found in (beats, still)]
    assert ["strokes to a factor of 2" in text for text in told] == [True, False]


def test_bands_of_a_paddle_hold_ends_that_the_standard_mesh_gives():
    """The start moved by the modulus alone, searched anew, lies within the band."""
    (start,) = select(answered(bands=True).records, "start_speed")
    assert start.low < start.value < start.high
    stiff = answered("material.static_factor=1.2")
    soft = answered("material.static_factor=1.0")
    assert number(soft, "start_speed") < number(stiff, "start_speed")
    assert start.low < number(soft, "start_speed")
