"""The comparison: two-sided tolerances, missing numbers fail, values that must be missed."""

import pytest

from simsoft.results.record import Record, missing
from simsoft.validate.check import AllowedDifference, Check, Measure, Run
from simsoft.validate.compare import CheckRow
from simsoft.validate.execute import execute, from_records

PERCENT = AllowedDifference(0.01, relative=True)
ABSOLUTE = AllowedDifference(0.001, relative=False)


def row(expected, found, tolerance=PERCENT, **more):
    return CheckRow("Z01", "drag", "now", expected, found, tolerance, "nowhere", **more)


@pytest.mark.parametrize(
    ("expected", "found", "tolerance", "passed"),
    [
        (2.0, 2.019, PERCENT, True),
        (2.0, 1.981, PERCENT, True),
        (2.0, 2.021, PERCENT, False),
        (2.0, 1.979, PERCENT, False),
        (-2.0, -2.019, PERCENT, True),
        (-2.0, 2.0, PERCENT, False),
        (0.0, 0.0009, ABSOLUTE, True),
        (0.0, -0.0009, ABSOLUTE, True),
        (0.0, -0.0011, ABSOLUTE, False),
        (2.0, float("nan"), PERCENT, False),
        (2.0, float("inf"), PERCENT, False),
        (2.0, None, PERCENT, False),
    ],
)
def test_tolerance_has_two_sides(expected, found, tolerance, passed):
    assert row(expected, found, tolerance).passed is passed


@pytest.mark.parametrize(("found", "passed"), [(2.0, False), (2.03, True), (None, False)])
def test_unlike_must_be_missed_but_found(found, passed):
    assert row(2.0, found, unlike=True).passed is passed


def test_error_keeps_its_sign():
    assert row(-2.0, -2.1).error == pytest.approx(-0.05)
    assert row(2.0, 2.5, ABSOLUTE).error == pytest.approx(0.5)


def record(quantity, value, **at):
    return Record("stream", "strip", quantity, value, None, None, "m", "test", at)


RECORDS = (
    record("tip_position", (1.0, 2.0, 3.0), speed=0.1, state="rest"),
    record("tip_position", (4.0, 5.0, 6.0), speed=0.1, state="mean"),
    record("natural_frequency", 7.0, medium="air", motion="soft bending"),
    record("natural_frequency", 8.0, medium="air", motion="soft bending"),
    missing("stream", "strip", "start_speed", "m/s", "test", "small motions die out"),
    record("verdict", "still", speed=0.1),
)


@pytest.mark.parametrize(
    ("measure", "found", "reason"),
    [
        ({"quantity": "tip_position", "component": 2, "at": {"state": "mean"}}, 6.0, ""),
        ({"quantity": "tip_position", "component": 0, "at": {"speed": 0.1000000000001}}, 1.0, ""),
        ({"quantity": "natural_frequency", "at": {"motion": "soft bending"}, "nth": 2}, 8.0, ""),
        (
            {"quantity": "natural_frequency", "at": {"medium": "air"}, "nth": 3},
            None,
            "the run has 2 records of natural_frequency at medium air",
        ),
        ({"quantity": "drag"}, None, "the run has 0 records of drag"),
        ({"quantity": "start_speed"}, None, "small motions die out"),
        ({"quantity": "tip_position"}, None, "the record holds (1.0, 2.0, 3.0), where"),
        ({"quantity": "verdict"}, None, "the record holds 'still', where one number is needed"),
        ({"quantity": "verdict", "words": ("kicks", "still")}, 1.0, ""),
        ({"quantity": "verdict", "words": ("kicks",)}, None, "the record holds 'still', where"),
    ],
)
def test_records_are_looked_up(measure, found, reason):
    value, why = from_records(RECORDS, Measure("it", PERCENT, **measure))
    assert value == found
    assert why.startswith(reason)


def check_of(measure, run):
    return Check("Z01", "t", "s", "s", "recomputed", "", None, {measure.name: measure}, (run,))


def test_functions_are_scaled_and_listed():
    measure = Measure(
        "force", PERCENT, function="simsoft.validate.hardness:durometer_force_a",
        power=2.0, scale=10.0,
        offset=1.0,
    )  # fmt: skip
    run = Run(
        "{} points",
        arguments={"points": [0.0, 100.0]},
        each="points",
        labels=(0.0, 100.0),
        expect={"force": (1.0 + 10.0 * 0.55**2, 5.0)},
        unlike={"force": (7.0, 1.0 + 10.0 * 8.05**2)},
    )
    rows = execute(check_of(measure, run), run)
    assert [r.condition for r in rows] == ["0.0 points", "100.0 points"] * 2
    assert [r.passed for r in rows] == [True, False, True, False]


def test_a_list_that_is_too_short_fails():
    measure = Measure(
        "Γ", PERCENT, function="simsoft.hydrodynamics.viscous:hydrodynamic_function", item=("real",)
    )
    run = Run("{}", arguments={"reynolds": [1.0]}, labels=(1, 2), expect={"Γ": (3.734, 3.734)})
    first, second = execute(check_of(measure, run), run)
    assert first.passed
    assert second.found is None
    assert second.reason == "the function gave no such number"


def test_a_solver_failure_fails_the_row_with_its_reason():
    measure = Measure("limit", PERCENT, function="simsoft.validate.small_motions:bisect")
    run = Run("now", arguments={"beyond": bool, "low": 1.0, "high": 2.0}, expect={"limit": 1.0})
    (found,) = execute(check_of(measure, run), run)
    assert not found.passed
    assert found.reason == "the limit is not between 1 and 2"
