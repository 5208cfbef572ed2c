"""Designs about a case: each is what the screening solver says of that case written by hand."""

from itertools import product

import pytest

from simsoft.case.read import load
from simsoft.design.screened import BEATS, moved_to, screened
from simsoft.design.sweep.screening import screening_records
from simsoft.results.record import select

SHEDS = ("parts.tail.loads.rim_force=4", "parts.tail.loads.shedding=true")


@pytest.fixture(scope="module")
def found():
    return screened(load("cases/paddle_100.toml", SHEDS))


def test_there_is_one_design_for_every_place_of_every_slider(found):
    count = 1
    for slider in found.sliders:
        assert list(slider.values) == sorted(set(slider.values))
        count *= len(slider.values)
    assert [s.name for s in found.sliders] == [
        "thickness", "durometer", "paddle offset", "water temperature",
    ]  # fmt: skip
    assert len(found.designs) == count


def design_at(found, places):
    at = 0
    for slider, place in zip(found.sliders, places, strict=True):
        at = at * len(slider.values) + place
    return found.designs[at]


@pytest.mark.parametrize("corner", [0, 1, 2, 3])
def test_designs_are_those_of_the_screening_solver(found, corner):
    ends = list(product(*([0, s.own, len(s.values) - 1] for s in found.sliders)))
    places = ends[corner * (len(ends) - 1) // 3]
    thick, hard, offset, warm = (s.values[p] for s, p in zip(found.sliders, places, strict=True))
    case = load(
        "cases/paddle_100.toml",
        (
            *SHEDS,
            f"parts.tail.thickness={1e3 * thick:.12g} mm",
            f"material.durometer={hard:.12g} OO",
            f"parts.tail.paddle_offset={1e3 * offset:.12g} mm",
            f"water.temperature={warm:.12g} K",
        ),
    )
    records = [r for r in screening_records(case) if r.scenario == found.scenario]
    design = design_at(found, places)
    (start,) = select(records, "start_speed")
    assert design.start == (None if start.value is None else pytest.approx(start.value, rel=1e-9))
    for speed, (word, rate, stroke, fold) in zip(found.speeds, design.answers, strict=True):
        for quantity, value in (("flap_frequency", rate), ("stroke", stroke), ("fold_back", fold)):
            (record,) = select(records, quantity, speed=speed)
            assert value == (
                None if record.value is None else pytest.approx(record.value, rel=1e-9)
            )
        (verdict,) = select(records, "verdict", speed=speed)
        beats = (verdict.reason or "").startswith("the paddle beats")
        assert word == ("beats" if beats else verdict.value)


def test_the_cases_own_values_stand_on_the_sliders(found):
    case = load("cases/paddle_100.toml", SHEDS)
    own = [slider.values[slider.own] for slider in found.sliders]
    part = case.parts[0]
    assert own == [
        part.thickness.values[0], case.material.hardness, part.paddle.offset,
        case.water.temperature,
    ]  # fmt: skip


def test_a_tapered_stem_is_moved_by_its_thinnest_place():
    def tapered(root, thin, end):
        sizes = ", ".join(f'"{size:.12g} mm"' for size in (root, thin, end))
        taper = f"parts.tail.thickness={{ at = [0, 0.5, 1], value = [{sizes}] }}"
        return screened(load("cases/paddle_100.toml", (*SHEDS, taper)))

    found = tapered(2.4, 1.8, 2.2)
    thick = found.sliders[0]
    assert thick.name == "thickness at its thinnest"
    assert thick.values[thick.own] == pytest.approx(1.8e-3)
    more = thick.values[-1] / 1.8e-3
    thicker = tapered(2.4 * more, 1.8 * more, 2.2 * more)
    moved = design_at(found, [len(thick.values) - 1, *(s.own for s in found.sliders[1:])])
    own = design_at(thicker, [s.own for s in thicker.sliders])
    assert moved.start == pytest.approx(own.start, rel=1e-9)


def test_designs_follow_the_start_that_was_seen(found):
    own = design_at(found, [slider.own for slider in found.sliders])
    late = moved_to(found, 2.0 * own.start)
    assert design_at(late, [slider.own for slider in late.sliders]).start == 2.0 * own.start
    for before, after in zip(found.designs, late.designs, strict=True):
        if before.start is None:
            assert after == before
            continue
        assert after.start == pytest.approx(2.0 * before.start)
        for speed, (word, rate, *_) in zip(found.speeds, after.answers, strict=True):
            assert (word == "still") == (speed < after.start)
            assert rate is None or word not in ("still", BEATS)


def test_a_part_that_the_solver_does_not_serve_has_none():
    assert screened(load("cases/ribbon_150.toml")) is None
    assert screened(load("cases/stick_127.toml")) is None
    assert screened(load("cases/claw_95.toml")) is None
