"""A paddle that kicks at no speed asked is told why; every change it is told makes it kick."""

from __future__ import annotations

from pathlib import Path

import pytest
from sweep_cases import PADDLE

from simsoft.case.read import load, loads
from simsoft.design.wake import asleep
from simsoft.engine.run import run
from simsoft.report.text.wake import wake_warnings
from simsoft.results.record import select

TAIL = Path(__file__).parents[2] / "validation" / "resolved" / "tail.toml"
CENTRED = "parts.tail.paddle_offset=0 mm"
THIN = "parts.tail.paddle_thickness=1.05 mm"  # 0.07 of the disc
STIFF = "material.youngs_modulus=500 kPa"
SHADED = ("parts.tail.body_height=15 mm", "parts.tail.body_width=15 mm")


def found_in(case):
    return asleep(case, run(case, bands=False).records)


def followed(waking, overrides):
    """Return the verdict of the resolved runs' tail with what was advised."""
    scale = {"m": "m", "rad": "rad", "Pa": "Pa"}
    told = [f"{c.key}={c.value:.9g} {scale[c.unit]}" for c in waking.changes]
    (record,) = select(run(load(TAIL, [*overrides, *told]), bands=False).records, "verdict")
    return record.value


def test_a_centred_thin_paddle_is_told_so_and_each_change_makes_it_kick():
    overrides = (CENTRED, THIN)
    (one,) = found_in(load(TAIL, overrides))
    assert [reason.word for reason in one.reasons] == ["centred", "thin"]
    assert one.start is None or one.start > one.speed
    assert one.alone
    assert one.together is None
    for waking in one.alone:
        assert waking.start < one.speed
        assert followed(waking, overrides) == "kicks"
    text = " ".join(wake_warnings([one], "mm"))
    assert "is centred on the stem" in text
    assert "is thin, 7 % of its height" in text
    (thicker,) = (w.changes[0] for w in one.alone if w.changes[0].key.endswith("le_thickness"))
    assert f'--set parts.tail.paddle_thickness="{1e3 * thicker.value:.3g} mm"' in text


def test_where_no_single_change_does_it_several_together_are_proved():
    overrides = (CENTRED, THIN, STIFF, *SHADED)
    (one,) = found_in(load(TAIL, overrides))
    assert [reason.word for reason in one.reasons] == ["centred", "thin", "shaded"]
    assert one.alone == ()
    assert len(one.together.changes) > 1
    assert followed(one.together, overrides) == "kicks"
    text = " ".join(wake_warnings([one], "mm"))
    assert "the body ahead leaves it 69 % of the stream" in text
    assert "no single change" in text


def test_a_paddle_that_starts_but_only_shivers_is_told_too():
    """Hung, of ordinary thickness, in the whole stream, but stiff for its speed."""
    case = load(TAIL, ["material.youngs_modulus=400 kPa", 'scenarios.stream.speed=["0.38 m/s"]'])
    result = run(case, bands=False)
    assert select(result.records, "start_speed")[0].value < 0.45
    assert select(result.records, "verdict")[0].value != "kicks"
    (one,) = asleep(case, result.records)
    assert one.reasons == ()
    text = " ".join(wake_warnings([one], "mm"))
    assert "too stiff for these speeds" in text
    assert 'material.youngs_modulus="' in text


def test_without_a_march_a_paddle_without_a_start_is_told_too():
    overrides = (CENTRED, THIN, "scenarios.stream.march=false")
    (one,) = found_in(load(TAIL, overrides))
    assert one.start is None or one.start > one.speed
    assert one.alone
    assert found_in(load(TAIL, overrides[2:])) == []


def test_a_paddle_that_kicks_is_told_nothing():
    assert found_in(loads(PADDLE)) == []


@pytest.mark.parametrize("more", ["parts.tail.model=plate", 'scenarios.retrieve.kind="hold"'])
def test_nothing_is_told_where_no_stiff_paddle_was_asked_in_a_stream(more):
    changes = [CENTRED, THIN, more] if "plate" in more else [more]
    text = PADDLE if "plate" in more else PADDLE.replace('speed = ["0.5 m/s"]', "")
    assert asleep(loads(text, overrides=changes), ()) == []
