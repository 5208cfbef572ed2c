"""Golden numbers: what only moves or merges code does not change a digit of any record."""

import pytest
from golden.cases import GOLDEN
from golden.records import EXACT, NUMBERS, OTHER_MACHINE, differences, read, records_of

MARKED = [
    pytest.param(name, marks=pytest.mark.slow if golden.slow else ()) for name, golden in
    GOLDEN.items()
]  # fmt: skip


@pytest.mark.parametrize("name", MARKED)
def test_records_are_the_kept_ones(name):
    """``python -m tests.golden --write`` keeps new ones, where a change of them is meant."""
    kept, tolerance = read(name)
    changed = differences(kept, records_of(*GOLDEN[name].asked), tolerance)
    assert not changed, "\n".join(changed[:20])


def test_every_golden_case_is_kept_and_nothing_else():
    assert {path.stem for path in NUMBERS.glob("*.json")} == set(GOLDEN)


def record(value, quantity="stroke", **changes):
    plain = {"scenario": "s", "part": "p", "quantity": quantity, "value": value, "unit": "m"}
    return plain | {"at": {"speed": 0.5}} | changes


@pytest.mark.parametrize(
    ("old", "new", "tolerance", "number"),
    [
        (record(1.0), record(1.0 + 1e-13), EXACT, 0),
        (record(1.0), record(1.0 + 1e-11), EXACT, 1),
        (record(1.0), record(1.0 + 1e-11), OTHER_MACHINE, 0),
        (record(0.0), record(1e-30), OTHER_MACHINE, 1),
        (record(1e-9, "energy_residual"), record(2e-9, "energy_residual"), EXACT, 1),
        (record(1e-9, "energy_residual"), record(2e-9, "energy_residual"), OTHER_MACHINE, 0),
        (record([1.0, 1e-14]), record([1.0, 0.0]), EXACT, 0),
        (record([1.0, 1e-14]), record([1.0]), EXACT, 1),
        (record(1.0), record("1.0"), EXACT, 1),
        (record(1.0), record(1.0, at={"speed": 0.6}), EXACT, 1),
        (record("kicks"), record("still"), OTHER_MACHINE, 1),
        (record(1.0), record(1.0, reason="none"), EXACT, 1),
    ],
)
def test_what_counts_as_a_difference(old, new, tolerance, number):
    assert len(differences([old], [new], tolerance)) == number


def test_a_record_more_or_less_is_a_difference():
    assert differences([record(1.0)], [], EXACT) == ["1 records kept, 0 found"]
