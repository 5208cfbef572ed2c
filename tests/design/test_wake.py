"""A paddle without a start is told why, and every change it is told wakes it when it is run."""

from __future__ import annotations

import pytest
from sweep_cases import PADDLE

from simsoft.case.read import loads
from simsoft.design.sweep.screening import screening_records
from simsoft.design.wake import asleep
from simsoft.report.text.wake import wake_lines
from simsoft.results.record import missing, select

FLAT = ["parts.tail.paddle_offset=0 mm", "parts.tail.paddle_thickness=1.5 mm",
        "scenarios.retrieve.max_speed=0.6 m/s"]  # fmt: skip


def no_start(case):
    return (missing("retrieve", "tail", "start_speed", "m/s", "", "small motions die out"),)


def test_a_centred_thin_paddle_is_told_so_and_each_change_wakes_it():
    case = loads(PADDLE, overrides=FLAT)
    assert select(screening_records(case), "start_speed")[0].value is None
    (found,) = asleep(case, no_start(case))
    assert [reason.split()[3] for reason in found.reasons] == ["centred", "thin,"]
    assert found.waking
    for item in found.waking:
        value = f"{item.value:.9g} {item.unit}"
        moved = loads(PADDLE, overrides=[*FLAT, f"{item.key}={value}"])
        start = select(screening_records(moved), "start_speed")[0].value
        assert start == pytest.approx(item.start, rel=1e-6)
    text = " ".join(wake_lines([found], "mm"))
    assert "paddle_offset" in text
    assert "is centred on the stem" in text


def test_a_paddle_that_starts_is_told_nothing():
    case = loads(PADDLE)
    assert asleep(case, tuple(screening_records(case))) == []
