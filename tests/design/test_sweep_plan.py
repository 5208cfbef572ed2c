"""Axes, grids, samples and linked values."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from sweep_cases import PADDLE

from simsoft.core.errors import InputError
from simsoft.design.case_tables import quantities, replaced
from simsoft.design.sweep.axis import read_axis
from simsoft.design.sweep.plan import Plan, check_plan, designs, read_link
from simsoft.design.sweep.run import check_units, read_base
from simsoft.design.text_number import computed, read_quantity

TABLES = {
    "parts": [
        {"name": "tail", "thickness": "2 mm", "length": "11 mm", "width": ["6 mm", "3 mm"]},
    ]
}


def test_a_range_holds_its_ends_without_rounding():
    axis = read_axis("parts.tail.thickness=1.8:2.4:0.1 mm")
    assert axis.values == ("1.8 mm", "1.9 mm", "2 mm", "2.1 mm", "2.2 mm", "2.3 mm", "2.4 mm")
    assert (axis.path, axis.unit, axis.numeric) == ("parts.tail.thickness", "mm", True)


@pytest.mark.parametrize(
    ("text", "values"),
    [
        ("a=1 mm:2 mm:0.5 mm", ("1 mm", "1.5 mm", "2 mm")),
        ("a=40,46,52 OO", ("40 OO", "46 OO", "52 OO")),
        ("a=disc,boot", ("disc", "boot")),
        ("a=-5:5:5 degC", ("-5 degC", "0 degC", "5 degC")),
        ("a=0:1:0.4", ("0", "0.4", "0.8")),
    ],
)
def test_what_an_axis_may_look_like(text, values):
    assert read_axis(text).values == values


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("thickness", "a path and values are needed"),
        ("a=", "a path and values are needed"),
        ("a=1:x:2", "no range of numbers"),
        ("a=1 mm:2 in:0.1 mm", "are mixed"),
        ("a=3:2:1 mm", "FROM must lie below TO"),
        ("a=1:2:0 mm", "STEP must be above zero"),
        ("a=1:2:1e-9 mm", "values; at most"),
        ("a=1,,2", "empty entry"),
        ("a=1,1", "twice"),
    ],
)
def test_what_is_refused_says_why_in_one_line(text, said):
    with pytest.raises(InputError) as error:
        read_axis(text)
    assert said in str(error.value)
    assert "\n" not in str(error.value)


def test_a_grid_runs_the_last_axis_fastest():
    plan = Plan((read_axis("a=1,2"), read_axis("b=x,y,z")))
    found = [design.values for design in designs(plan, {})]
    assert found == [("1", "x"), ("1", "y"), ("1", "z"), ("2", "x"), ("2", "y"), ("2", "z")]


def test_a_sample_is_the_same_every_time_and_inside():
    plan = Plan((read_axis("a=1:2 mm"), read_axis("b=disc,boot")), sample=50, seed=3)
    first = [design.values for design in designs(plan, {})]
    assert first == [design.values for design in designs(plan, {})]
    other = Plan(plan.axes, sample=50, seed=4)
    assert first != [design.values for design in designs(other, {})]
    numbers = [float(a.removesuffix(" mm")) for a, _ in first]
    assert all(1.0 <= number <= 2.0 for number in numbers)
    # low discrepancy: every tenth of the interval gets its share of 50 points
    assert all(3 <= sum(1 + i / 10 <= n < 1.1 + i / 10 for n in numbers) <= 7 for i in range(10))
    assert {word for _, word in first} == {"disc", "boot"}


def test_linked_values_keep_their_proportion():
    plan = Plan(
        (read_axis("parts.tail.thickness=2,3 mm"),),
        (
            read_link("parts.tail.length/parts.tail.thickness"),
            read_link("parts.tail.width/parts.tail.thickness"),
        ),
    )
    check_plan(plan, TABLES)
    last = list(designs(plan, TABLES))[1]
    assert last.overrides == (
        "parts.tail.thickness=3 mm",
        "parts.tail.length=16.5 mm",
        'parts.tail.width=["9 mm", "4.5 mm"]',
    )


@pytest.mark.parametrize(
    ("vary", "keep", "said"),
    [
        ((), (), "nothing is varied"),
        (("parts.tail.thickness=1:2 mm",), (), "has no step"),
        (("a=1,2", "a=3,4"), (), "is varied twice"),
        (("parts.tail.thickness=1,2 mm",), ("parts.tail.length/b",), "b is not varied"),
        (("parts.tail.thickness=1,2 mm",), ("x/parts.tail.thickness",), "no number for x"),
    ],
)
def test_plans_that_cannot_be_laid_out(vary, keep, said):
    plan = Plan(tuple(map(read_axis, vary)), tuple(map(read_link, keep)))
    with pytest.raises(InputError, match=said):
        check_plan(plan, TABLES)


@given(st.decimals(-1000, 1000, places=3, allow_nan=False), st.sampled_from(["mm", "OO", "", "%"]))
def test_a_quantity_survives_its_text(number, unit):
    text = f"{number} {unit}".strip()
    found = read_quantity(text)
    assert found.number == number
    again = read_quantity(found.text)
    assert (again.number, again.unit) == (number, unit)


def test_a_table_along_the_length_is_scaled_entry_by_entry():
    raw = {"at": [0, 0.4, 1], "value": ["3 mm", "2 mm", "1 mm"]}
    doubled = [computed(2 * float(q.number), q.unit) for q in quantities(raw)]
    assert replaced(raw, doubled) == '{ at = [0, 0.4, 1], value = ["6 mm", "4 mm", "2 mm"] }'


@pytest.mark.parametrize(
    ("vary", "told"),
    [
        ("parts.tail.thickness=2:3:0.5", "has no unit"),
        ("parts.tail.thickness=2:3:0.5 s", "wrong dimension"),
        ("tail.thickness=2:3:0.5 mm", "write parts.tail.thickness"),
        ("material.durometer=38:50:4", "has no scale"),
        ("material.durometer=38:50:4 A B", "is not a durometer reading"),
        ("material.durometer=46 OO,soft", "is not a durometer reading"),
    ],
)
def test_a_varied_value_is_checked_as_a_set_one(tmp_path, vary, told):
    path = tmp_path / "paddle.toml"
    path.write_text(PADDLE)
    with pytest.raises(InputError, match=f"--vary.*{told}"):
        check_units(read_base(path), [read_axis(vary)])
