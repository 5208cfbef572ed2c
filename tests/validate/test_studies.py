"""Studies of the program itself, run as the committed page runs them."""

import math

import pytest

from simsoft.properties.material import DEFAULTS
from simsoft.results.record import Record
from simsoft.solvers.time_march import SETTLED_SPREAD
from simsoft.validate.locate import checks_directory
from simsoft.validate.studies import control as study_control
from simsoft.validate.studies import convergence as study_convergence
from simsoft.validate.studies import symmetry as study_symmetry
from simsoft.validate.studies import water as study_water
from simsoft.validate.studies import widths as study_widths
from simsoft.validate.studies import window as study_window
from simsoft.validate.studies.convergence import PLANS, Trend, extrapolate
from simsoft.validate.studies.run import PAGE, STUDIES, main
from simsoft.validate.studies.tools import table

# --- parts -----------------------------------------------------------------------------------


@pytest.mark.parametrize("order", [1.0, 2.0, 3.0])
def test_extrapolation_of_a_power_law(order):
    found = extrapolate([5.0 + 0.3 * h**order for h in (8.0, 4.0, 2.0, 1.0)])
    assert found.value == pytest.approx(5.0)
    assert found.order == pytest.approx(order)


def test_extrapolation_where_answers_swing_takes_the_formal_order():
    found = extrapolate([1.0, 1.2, 1.1])
    assert found == Trend(pytest.approx(1.1 - 0.1 / 3.0), None)


def test_extrapolation_of_equal_answers():
    assert extrapolate([1.0, 2.0, 2.0]) == Trend(2.0, None)


def test_table_is_markdown():
    assert table(["a", "b"], [["x", "1"]]) == "| a | b |\n|---|--:|\n| x | 1 |\n"


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (["windows"], "no study is called windows; there are convergence, window, water"),
        (["--write", "window"], "--write writes the whole page; give no names with it"),
    ],
)
def test_wrong_arguments_are_refused(arguments, message, capsys):
    with pytest.raises(SystemExit) as end:
        main(arguments)
    assert end.value.code == 2
    assert message in capsys.readouterr().err


def test_the_committed_page_holds_every_study():
    text = (checks_directory() / PAGE).read_text(encoding="utf-8")
    for title in (
        "## Convergence of the demo cases",
        "## Thickness window of a paddle tail",
        "## Cold water: paddle_100",
        "## Mirrors, scale and frame",
        "## Negative control: ribbon_150 aligned, without gravity",
    ):
        assert title in text
    assert text.count("\n## ") == len(STUDIES)


# --- studies ---------------------------------------------------------------------------------


@pytest.mark.slow
@pytest.mark.parametrize("plan", PLANS, ids=lambda plan: plan.name)
def test_default_discretisation(plan):
    result = study_convergence.refined_case(plan)
    assert not result.unsettled
    assert not study_convergence.not_converged([result])
    assert all(row.default is not None for row in result.rows)
    assert "default answers are within 2%" in study_convergence.section([result])


@pytest.mark.slow
def test_paddle_converges_with_the_square_of_the_element_length():
    plan = next(plan for plan in PLANS if plan.name == "paddle_100")
    result = study_convergence.refined_case(plan)
    for quantity in ("flap_frequency", "stroke"):
        assert result.row(quantity).elements.order == pytest.approx(2.0, abs=0.5)
    assert result.row("flap_frequency").step.order == pytest.approx(2.0, abs=0.5)
    # the step's error in the stroke is below what settling within 1 % leaves open
    coarse, *_, fine = result.row("stroke").by_step
    assert coarse == pytest.approx(fine, rel=SETTLED_SPREAD)


@pytest.fixture(scope="module")
def stems():
    return study_window.study()


@pytest.mark.slow
def test_window_start_speed_rises_and_fold_back_falls_with_stiffness(stems):
    assert len(stems) == 28
    assert all(stem.start is not None for stem in stems)
    assert study_window.falling_starts(stems) == []
    assert study_window.rising_folds(stems) == []


@pytest.mark.slow
def test_window_the_stem_sets_start_and_rate(stems):
    """Bend-twist flutter: both go with the first frequency in water, not with a Strouhal number.

    A stem as thick as it is high, or thicker, bends upward first and starts later.
    """
    starts = [stem.start_rule for stem in stems if study_window.bends_sideways(stem)]
    rates = [stem.start_rate for stem in stems]
    assert len(starts) == 20
    assert max(starts) < 1.3 * min(starts)
    late = [stem.start_rule for stem in stems if not study_window.bends_sideways(stem)]
    assert min(late) > max(starts)
    assert all(abs(rate - 1.0) < 0.2 for rate in rates)
    points = study_window.beating(stems)
    assert len(points) >= 30
    low, high = study_window.RESOLVED_RATE
    middle = sorted(point.rate for point in points if point.rate)[len(points) // 2]
    assert low * 0.9 < middle < high * 1.1


@pytest.mark.slow
def test_window_follows_the_rule_of_thumb_of_the_fold(stems):
    points = study_window.small_folds(stems)
    assert len(points) >= 9
    for point in points:
        assert point.fold_back == pytest.approx(point.fold_rule, rel=0.1)


def test_the_width_of_a_band_is_high_over_low():
    records = [
        Record("s", "p", "stroke", 2.0, 1.0, 3.0, "m", "march", {"speed": 0.4}),
        Record("s", "p", "stroke", 2.0, 0.0, 3.0, "m", "march", {"speed": 0.5}),
        Record("s", "p", "stroke", 0.0, 0.0, 0.1, "m", "march", {"speed": 0.1}),
        Record("s", "p", "flap_frequency", None, None, None, "Hz", "march", {}, "still"),
        Record("s", "p", "start_speed", 0.2, 0.1, None, "m/s", "flutter"),
    ]
    found = study_widths.widths_of("demo", records, records[:1])
    assert found.stated["stroke"] == (3.0, math.inf)
    assert found.stated["start_speed"] == (math.inf,)
    assert found.stated["flap_frequency"] == ()
    assert found.measured["stroke"] == (3.0,)
    assert "| demo | no end, none | none, none | no end, 3.00 | none, none |" in (
        study_widths.section([found])
    )


@pytest.mark.slow
def test_a_measured_modulus_narrows_every_band():
    widths = study_widths.study()
    stated, measured = (study_widths.medians(widths, known) for known in (False, True))
    assert all(measured[quantity] <= stated[quantity] for quantity in stated)
    assert measured["stroke"] < 0.95 * stated["stroke"]


@pytest.mark.slow
def test_cold_water_stiffens_quickens_and_delays():
    cold, warm = study_water.study()
    stiffer = math.exp(DEFAULTS.temperature_slope * (warm.temperature - cold.temperature))
    assert cold.resting / warm.resting == pytest.approx(stiffer, rel=1e-6)
    assert cold.natural / warm.natural == pytest.approx(math.sqrt(stiffer), rel=0.03)
    assert 1.1 < cold.start / warm.start < 1.4
    assert cold.viscosity > 1.5 * warm.viscosity
    for one, other in zip(cold.points, warm.points, strict=True):
        if one[0] < study_water.FAR_BEYOND * cold.start:
            assert one[3] < other[3], "the colder tail strokes less"
        else:
            assert one[3] == pytest.approx(other[3], rel=0.1), "far beyond both starts"


@pytest.mark.slow
def test_mirrored_scaled_and_turned_cases_give_the_same_answer():
    pairs = study_symmetry.study()
    assert {pair.change for pair in pairs} == {"mirrored", "2 times as large", "turned"}
    for pair in pairs:
        # a mirrored march starts from the same, not the mirrored kick; the sickle's irregular beat
        # is only as repeatable as settling asks for
        within = 2e-3 if pair.change == "mirrored" else 1e-6
        if pair.change == "mirrored" and (pair.case, pair.quantity) == (
            "curl_grub_75",
            "fold_back",
        ):
            within = SETTLED_SPREAD
        if pair.quantity == "tip at rest":
            within = 1e-6
        if pair.quantity == "start_frequency":
            within = 1e-3  # read at a speed bisected to 1e-4
        assert pair.difference <= within, pair


@pytest.mark.slow
def test_drag_and_friction_alone_never_start_an_aligned_ribbon():
    control = study_control.study()
    assert control.never_grows
    assert max(control.reactive) > 1e3 * control.noise
    assert control.reactive_starts
    assert 0.2 < control.reactive_starts[0] < 0.5
    assert "no small motion grows at any speed up to 5 m/s" in study_control.section(control)
