"""The weigh window: its masses, poured and run, sink inside the wish."""

from dataclasses import replace

import pytest
from physics import case_of

from simsoft.case.model import BodyInput, HookInput, RigInput, Scenario, Taper
from simsoft.case.wishes import Clause
from simsoft.engine.run import run
from simsoft.report.text.recipe import recipe_lines
from simsoft.results.record import select
from simsoft.scenarios.weigh import weigh_window

SIZE = Taper((0.0, 1.0), (0.01, 0.01))
STICK = BodyInput("stick-worm", 0.1, SIZE, SIZE, salt_fraction=0.1)
HOOK = HookInput(0.001, ((0.03, 0.0, 0.0), (0.05, 0.0, 0.0), (0.07, 0.0, 0.0)), 2e-4)
FALL = Scenario("fall", "sink")


def case_with(low=0.16, high=0.19, **changes):
    brief = (Clause("sink", "sink_rate", "m/s", low, high),)
    plain = replace(case_of(density=1020.0), parts=(), body=STICK, rig=RigInput(HOOK))
    return replace(plain, scenarios=(FALL,), brief=brief, **changes)


@pytest.fixture(scope="module")
def window():
    case = case_with()
    return case, weigh_window(case, FALL)


@pytest.mark.parametrize(("name", "wanted"), [("weigh_at_least", 0.16), ("weigh_at_most", 0.19)])
def test_a_bait_of_an_end_of_the_window_sinks_at_the_end_of_the_wish(window, name, wanted):
    case, records = window
    (end,) = select(records, name)
    assert end.low < end.value < end.high
    density = density_of(case) * end.value / end.at["now"]
    poured = replace(case, brief=(), body=replace(STICK, salt_fraction=0.0, density=density))
    (rate,) = select(run(poured, bands=False).records, "sink_rate")
    assert rate.value == pytest.approx(wanted, rel=0.03)


def density_of(case):
    """Return the density [kg/m^3] of the body as the case states it."""
    from simsoft.properties.material import body_density

    return body_density(case.body, case.material, case.tolerance).value


def test_the_window_is_told_in_grams(window):
    _, records = window
    (line,) = recipe_lines(records)
    assert "for a fall at 0.16 m/s to 0.19 m/s: at least " in line
    assert " g (" in line
    assert "as drawn " in line


def test_one_end_of_a_wish_leaves_the_other_open(window):
    case = case_with(high=None)
    least, most = weigh_window(case, FALL)
    assert least.value == pytest.approx(select(window[1], "weigh_at_least")[0].value, rel=0.02)
    assert most.value is None
    assert "still does it" in most.reason


def test_a_rate_out_of_reach_and_no_wish():
    (record,) = weigh_window(case_with(2.0, 3.0), FALL)
    assert "does it" in record.reason
    assert weigh_window(replace(case_with(), brief=()), FALL) == []
