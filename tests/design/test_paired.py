"""Changes told by the same samples of both sides; wishes against the bait in hand."""

from __future__ import annotations

import math

import numpy as np
import pytest
from sweep_cases import PADDLE, RIGGED

from simsoft.case.read import loads
from simsoft.design.brief import MEETS, MISSES, OPEN, judge
from simsoft.design.candidates import Bench, Candidate
from simsoft.design.paired import ENDS, changes
from simsoft.design.paired_runs import run_changes
from simsoft.design.pick import choose, pick_values
from simsoft.design.sweep.axis import read_axis
from simsoft.design.sweep.run import local_runner, read_base
from simsoft.design.tolerance import (
    Probability,
    Sample,
    make_trial,
    points,
    probability,
    run_samples,
)
from simsoft.engine.rows import OF_A_BEAT, OTHER_PADDLE, SAME_SHAPE, left_open
from simsoft.report.text.change import change_lines, change_sentence
from simsoft.report.text.pick import pick_text
from simsoft.results.record import Record
from simsoft.results.result import RunResult

BETTER = '\n[[brief]]\nquantity = "start_speed"\nbetter_than = "base"\n'
SAME = '\n[[brief]]\nquantity = "start_speed"\nsame_as = "base"\nwithin = "8 %"\n'
AT_MOST = '\n[[brief]]\nquantity = "start_speed"\nat_most = "0.42 m/s"\n'
THINNER = "parts.tail.thickness=1.8 mm"
PLACE = loads(PADDLE).scenarios[0].name


def start(value):
    return [Record(PLACE, "tail", "start_speed", value, None, None, "m/s", "")]


def test_the_shared_doubt_cancels_and_the_band_holds_eight_in_ten():
    case, moved = loads(PADDLE + AT_MOST), loads(PADDLE + AT_MOST, overrides=[THINNER])
    rng = np.random.default_rng(5)
    shared, own = rng.normal(0.0, 0.4, 512), rng.normal(0.0, 0.03, 512)
    before = [start(0.3 * math.exp(x)) for x in shared]
    after = [start(0.24 * math.exp(x + y)) for x, y in zip(shared, own, strict=True)]
    (found,) = changes(case, moved, before, after)
    assert found.middle == pytest.approx(0.8, rel=0.01)
    wide = ENDS * math.hypot(0.03, SAME_SHAPE * math.log(0.8))
    assert math.log(found.high / found.middle) == pytest.approx(wide, rel=0.1)
    assert math.log(found.middle / found.low) == pytest.approx(wide, rel=0.1)
    assert found.less == pytest.approx(1.0, abs=1e-6)
    assert "20 % lower" in change_sentence(found)


@pytest.mark.parametrize(
    ("setting", "middle", "scatter"),
    [
        (setting, middle, scatter)
        for setting in (THINNER, "parts.tail.paddle_offset=1 mm")
        for middle in (-0.22, -0.05, 0.02, 0.3)
        for scatter in (0.002, 0.05, 0.3)
    ],
)
def test_the_band_crosses_none_only_where_the_side_is_in_doubt(setting, middle, scatter):
    case, moved = loads(PADDLE + AT_MOST), loads(PADDLE + AT_MOST, overrides=[setting])
    ratios = np.random.default_rng(3).normal(middle, scatter, 64)
    after = [start(0.3 * math.exp(x)) for x in ratios]
    (found,) = changes(case, moved, [start(0.3)] * 64, after)
    assert found.low < found.middle < found.high
    # eight in ten lie within the band: one in ten on either side of it
    assert (found.high < 1.0) == (found.less > 0.9)
    assert (found.low > 1.0) == (found.less < 0.1)
    assert (found.middle < 1.0) == (found.less > 0.5)
    assert ("lower in" in change_sentence(found)) == (found.less >= 0.5)


def test_a_new_paddle_is_not_sure_to_be_lower_however_alike_the_pairs():
    hung = "parts.tail.paddle_offset=1 mm"
    case, moved = loads(PADDLE + AT_MOST), loads(PADDLE + AT_MOST, overrides=[hung])
    (found,) = changes(case, moved, [start(0.3)] * 16, [start(0.24)] * 16)
    # a normal distribution whose deviation is 0.8 of its middle
    assert found.less == pytest.approx(0.5 * math.erfc(-1.0 / OTHER_PADDLE / math.sqrt(2.0)))
    assert found.high > 1.0
    assert "lower in 89 % of 16 pairs of samples" in change_sentence(found)


def test_a_share_that_falls_to_zero_in_some_pairs_is_not_told_by_the_others():
    case = loads(f'{RIGGED}\n[[brief]]\nquantity = "fouling_sides"\nat_most = "20 %"\n')

    def fouled(share):
        return [Record("throw", "tail", "fouling_sides", share, None, None, "", "")]

    before = [fouled(0.4)] * 16
    (found,) = changes(case, case, before, [fouled(0.2)] * 16)
    assert found.middle == pytest.approx(0.5)
    assert changes(case, case, before, [fouled(0.0)] * 4 + [fouled(0.2)] * 12) == ()


def test_a_new_shape_is_vouched_for_less_than_a_new_stiffness():
    case, step = loads(PADDLE), -0.2
    thin = loads(PADDLE, overrides=[THINNER])
    hung = loads(PADDLE, overrides=["parts.tail.paddle_offset=1 mm"])
    assert left_open(case, thin, "start_speed", step) == pytest.approx(0.2 * SAME_SHAPE)
    assert left_open(case, hung, "start_speed", step) == pytest.approx(0.2 * OTHER_PADDLE)
    assert left_open(case, hung, "natural_frequency", step) == pytest.approx(0.2 * SAME_SHAPE)
    for quantity, (share, floor) in OF_A_BEAT.items():
        assert left_open(case, thin, quantity, step) == pytest.approx(share * 0.2)
        assert left_open(case, hung, quantity, step) > share * 0.2
        # another shape may beat otherwise although the model says that it does not
        assert left_open(case, thin, quantity, 0.0) == 0.0
        assert 0.0 < left_open(case, hung, quantity, 0.0) <= floor
        near = loads(PADDLE, overrides=["parts.tail.width=5.1 mm"])
        assert left_open(case, near, quantity, 0.0) < left_open(case, hung, quantity, 0.0)


@pytest.mark.parametrize(
    ("brief", "ratio", "verdict"),
    [
        (BETTER, 0.9, MEETS),
        (BETTER, 1.0, MISSES),
        (BETTER, 1.1, MISSES),
        (SAME, 0.95, MEETS),
        (SAME, 1.1, MISSES),
    ],
)
def test_a_wish_against_the_bait_in_hand_is_judged_draw_by_draw(brief, ratio, verdict):
    case = loads(PADDLE + brief)
    (found,) = judge(case, start(0.3 * ratio), banded=False, hand=start(0.3))
    assert found.verdict == verdict


def test_one_run_alone_does_not_answer_a_comparison():
    (found,) = judge(loads(PADDLE + BETTER), start(0.3), banded=True)
    assert found.verdict == OPEN
    assert "simsoft pick" in found.reason


def test_a_thinner_stem_is_better_than_the_bait_in_hand_in_every_sample_that_starts(tmp_path):
    path = tmp_path / "paddle.toml"
    path.write_text(PADDLE + BETTER)
    runner = local_runner(1, "fast")
    for sets, share in (([THINNER], 1.0), (["parts.tail.thickness=2.4 mm"], 0.0), ([], 0.0)):
        trial = make_trial(read_base(path, sets))
        found = run_samples(trial, points(trial, 16, 1), tmp_path, runner)
        starting = [s for s in found if s.findings[0].record.value is not None]
        assert len(starting) >= 12
        assert probability([s.passes for s in starting]).value == share


def test_a_pick_tells_the_change_with_a_narrow_band(tmp_path):
    path = tmp_path / "paddle.toml"
    path.write_text(PADDLE + AT_MOST)
    trial = make_trial(read_base(path))
    axis = read_axis("parts.tail.thickness=1.8,2 mm")
    (found,) = pick_values(Bench(trial, 16, 4, tmp_path, local_runner(1, "fast")), [axis])
    (thin,), (same,) = (c.changes for c in found.candidates)
    assert thin.high < 1.0
    assert thin.high / thin.low < 1.15
    assert (same.low, same.middle, same.high) == (1.0, 1.0, 1.0)


def candidate(value, share, margin=1.0):
    passed = round(100 * share)
    sample = Sample([], margin > 0.0, margin)
    return Candidate(value, sample, Probability(passed, 100, share, share))


def test_the_least_change_that_is_sure_enough_comes_before_the_surest():
    axis = read_axis("parts.tail.thickness=1.4,1.6,1.8,2 mm")
    rows = (("1.4 mm", 0.97), ("1.6 mm", 0.84), ("1.8 mm", 0.5), ("2 mm", 0.1))
    found = choose(axis, "2 mm", [candidate(v, s) for v, s in rows])
    assert found.best.value == "1.4 mm"
    assert found.chosen.value == found.least.value == "1.6 mm"
    assert found.cost == "one resin loop"
    text = " ".join(pick_text("Bait", [found], [], "mm", True).split())
    assert "thickness 2 mm -> 1.6 mm (one resin loop), the least change" in text
    assert "Surest is 1.4 mm" in text
    unsure = choose(axis, "2 mm", [candidate(v, s / 2.0) for v, s in rows])
    assert unsure.least is None
    assert unsure.chosen is unsure.best


def test_two_runs_are_told_apart_by_what_moves_both_alike():
    case = loads(PADDLE)
    thin = loads(PADDLE, overrides=[THINNER])

    def told(here, value, slope):
        record = Record(PLACE, "tail", "start_speed", value, 0.6 * value, 1.6 * value, "m/s", "")
        moves = {(PLACE, "tail", "start_speed", ()): {"modulus": 0.3, "tail thickness": slope}}
        return RunResult(case=here, records=(record,), moves=moves)

    (found,) = run_changes(told(case, 0.3, 0.05), told(thin, 0.24, 0.07))
    assert found.middle == pytest.approx(math.log(0.8))
    assert found.width == pytest.approx(ENDS * math.hypot(0.02, SAME_SHAPE * found.middle))
    assert found.alone > 10.0 * found.width
    assert "tail start speed: -20 % (-23 to -17)" in change_lines([found], "mm")[1]
    assert run_changes(told(case, 0.3, 0.05), told(case, 0.3, 0.05)) == []
