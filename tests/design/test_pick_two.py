"""Two changes at once: tried where no single one does, the least first, what is nearest told."""

from dataclasses import replace

import numpy as np
import pytest
from sweep_cases import PADDLE

from simsoft.case.wishes import Clause, Shop
from simsoft.design.brief import MEETS, MISSES, Finding
from simsoft.design.candidates import Bench, Candidate
from simsoft.design.cost import METAL, asks_for, cost
from simsoft.design.paired import Change
from simsoft.design.pick import as_it_stands, choose, hindrance, pick_values, ranked, told_from
from simsoft.design.pick_two import Two, advised, nearest_to_brief, two_at_once
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
from simsoft.report.text.pick import pick_text

COLD = """
[[brief]]
quantity = "start_speed"
at_most = "{warm} m/s"
[[brief]]
quantity = "start_frequency"
at_least = "{beat} Hz"
"""
LEVERS = ("parts.tail.length=9:14:1 mm", "parts.tail.thickness=1.8,1.9,2 mm")
START = Clause("start speed", "start_speed", "m/s", at_most=0.3)
BEAT = Clause("beat", "flap_frequency", "Hz", at_least=4.0)


def bench_of(tmp_path, warm, beat=1.0):
    path = tmp_path / "paddle.toml"
    path.write_text(PADDLE + COLD.format(warm=warm, beat=beat))
    return Bench(make_trial(read_base(path)), 16, 4, tmp_path, local_runner(1, "fast"))


def looked_through(bench):
    return ranked(pick_values(bench, [read_axis(lever) for lever in LEVERS]))


def test_two_changes_do_what_neither_does(tmp_path):
    bench = bench_of(tmp_path, 0.165)
    picks = looked_through(bench)
    assert not any(p.does for p in picks)
    two = two_at_once(bench, picks, 0.8)
    found = advised(picks, two, 0.8)
    assert isinstance(found, Two)
    assert found.tried.share >= 0.8
    # the same by hand: the changes set, the same draws judged one by one
    base = read_base(tmp_path / "paddle.toml", found.sets)
    trial = make_trial(base)
    judged = run_samples(trial, points(trial, 16, 4), tmp_path, local_runner(1, "fast"))
    assert sum(s.passes for s in judged) == found.tried.chance.passed
    # no pair that does it and was tried is a smaller change
    assert found.size == min(t.size for t in two if t.does(0.8))
    text = " ".join(pick_text("Bait", picks, [], "mm", True, two, cost(Shop(), 0.0)).split())
    assert "no single change meets the brief in 80 % of samples. Two at once: " in text
    assert "one more resin loop 7.5, metal again 27.5" in text


def test_where_nothing_does_it_the_nearest_and_its_reason_are_told(tmp_path):
    bench = bench_of(tmp_path, 0.08)
    picks = looked_through(bench)
    two = two_at_once(bench, picks, 0.8)
    assert two
    assert advised(picks, two, 0.8) is None
    closest = nearest_to_brief(picks, two)
    margin = closest.tried.middle.margin if isinstance(closest, Two) else (
        closest.nearest.middle.margin
    )  # fmt: skip
    singles = [c.middle.margin for p in picks for c in p.candidates]
    assert margin == max(singles + [t.tried.middle.margin for t in two])
    text = " ".join(pick_text("Bait", picks, [], "mm", True, two).split())
    assert "none in range, alone or two at once. Nearest is " in text
    assert "misses start " in text
    assert "no value looked through meets that" in text


def finding(clause, bands):
    return Finding(clause, MEETS if bands >= 0.0 else MISSES, None, bands, None)


def tried(value, share, *bands):
    judged = [finding(clause, b) for clause, b in zip((START, BEAT), bands, strict=False)]
    sample = Sample(judged, all(b >= 0.0 for b in bands), min(bands))
    chance = None if share is None else Probability(round(100 * share), 100, share, share)
    missed = None if share in (None, 1.0) else (START, 1 - share)
    return Candidate(value, sample, chance, (), missed)


def lever(path, before, *rows, sure=0.8):
    axis = read_axis(f"{path}={','.join(row[0] for row in rows)}")
    return choose(axis, before, [tried(*row) for row in rows], asks_for(path), sure)


def test_what_stands_against_more_of_a_change_is_told():
    rows = (("1.4 mm", None, 0.5, -0.9), ("1.8 mm", None, -0.2, 0.4), ("2 mm", None, -0.6, 0.8))
    found = lever("parts.tail.thickness", "2 mm", *rows)
    assert found.nearest.value == "1.8 mm"
    against = hindrance(found)
    assert (against.value, against.other.clause) == ("1.4 mm", BEAT)
    text = " ".join(pick_text("Bait", [found], [], "mm", True).split())
    assert "thickness 1.8 mm misses start speed; 1.4 mm meets that and misses beat" in text


@pytest.mark.parametrize(("sure", "word"), [(0.6, "the least change"), (0.9, "None meets it in")])
def test_the_chance_that_is_asked_for_decides(sure, word):
    found = lever("parts.tail.thickness", "2 mm", ("1.8 mm", 0.7, 0.5, 0.5), sure=sure)
    assert found.does == (sure < 0.7)
    text = " ".join(pick_text("Bait", [found], [], "mm", True).split())
    assert word in text
    assert ("Most of its misses: start speed, in 30 % of samples" in text) == (sure > 0.7)


def test_one_sure_change_comes_before_two_and_two_sure_before_one_unsure():
    sure = lever("material.durometer", "46 OO", ("40 OO", 0.9, 1.0, 1.0))
    unsure = lever("parts.tail.length", "11 mm", ("13 mm", 0.5, 0.2, 0.2))
    pair = Two((sure, unsure), ("40 OO", "13 mm"), "one resin loop", 0.4, tried("", 0.85, 1.0, 1.0))
    weak = Two((sure, unsure), ("40 OO", "13 mm"), "one resin loop", 0.4, tried("", 0.4, 0.1, 0.1))
    assert advised([sure, unsure], [pair], 0.8) is sure
    assert advised([unsure], [pair], 0.8) is pair
    assert advised([unsure], [weak], 0.8) is unsure


def test_a_size_of_an_aluminium_mould_asks_for_metal():
    assert asks_for("parts.tail.thickness", "aluminium") == METAL
    assert asks_for("parts.tail.thickness", "resin") == "one resin loop"
    assert asks_for("material.durometer", "aluminium") == "recipe, now"


def test_no_pair_is_made_of_a_change_that_changes_nothing(tmp_path):
    bench = bench_of(tmp_path, 0.1)
    picks = looked_through(bench)
    for two in two_at_once(bench, picks, 0.8):
        assert all(v != p.before for p, v in zip(two.levers, two.values, strict=True))
        assert np.isfinite(two.size)
    assert two_at_once(bench, picks[:1], 0.8) == []
    assert two_at_once(bench, [picks[0], picks[0]], 0.8) == []


def of_64(passed):
    return probability([True] * passed + [False] * (64 - passed))


def sampled(value, passed, margin=0.4):
    return replace(tried(value, None, margin), chance=of_64(passed))


def levers_of_a_bait_met_by_48():
    """As a maker met them: 75 % as it stands, 81 % by a thicker stem, 92 % by a softer pour."""
    own = sampled("", 48)
    thick = choose(
        read_axis("parts.tail.thickness=3.2,4.8 mm"), "3.2 mm",
        [sampled("3.2 mm", 48), sampled("4.8 mm", 52)], asks_for("parts.tail.thickness"),
    )  # fmt: skip
    soft = choose(
        read_axis("material.durometer=48,50 OO"), "50 OO",
        [sampled("48 OO", 59), sampled("50 OO", 48)], asks_for("material.durometer"),
    )  # fmt: skip
    return own, thick, soft


def test_a_change_that_the_samples_do_not_tell_from_the_bait_is_not_offered():
    own, thick, soft = levers_of_a_bait_met_by_48()
    assert thick.does
    picks = ranked(told_from([thick, soft], own))
    assert [(p.axis.path, p.idle, p.does) for p in picks] == [
        ("material.durometer", False, True), ("parts.tail.thickness", True, False),
    ]  # fmt: skip
    text = " ".join(pick_text("Bait", picks, [], "mm", True, own=own).split())
    assert "As it stands the bait meets it in 75 % (63 to 84 %) of samples." in text
    assert "or thickness" not in text
    assert "thickness: no value is told from the bait as it stands by these samples" in text
    assert "Margin: how far inside the nearest limit" in text


def test_where_no_change_does_anything_none_is_advised_as_one_that_does():
    own, thick, _ = levers_of_a_bait_met_by_48()
    text = " ".join(pick_text("Bait", told_from([thick], own), [], "mm", True, own=own).split())
    assert "nothing looked through is told from the bait as it stands" in text
    assert "the least change that meets the brief" not in text


def test_a_bait_that_does_it_already_stays():
    own, (found,) = sampled("", 62), told_from([
        choose(
            read_axis("material.durometer=48,50 OO"), "50 OO",
            [sampled("48 OO", 64), sampled("50 OO", 62)],
        )
    ], sampled("", 62))  # fmt: skip
    assert found.idle
    assert found.does
    assert found.least.value == "50 OO"
    assert "durometer stays 50 OO" in pick_text("Bait", [found], [], "mm", True, own=own)


def test_the_bait_as_it_stands_is_sampled_as_its_own_value_is(tmp_path):
    bench = bench_of(tmp_path, 0.4)
    own = as_it_stands(bench)
    (found,) = pick_values(bench, [read_axis("parts.tail.thickness=1.9,2 mm")])
    assert own.chance == found.candidates[1].chance
    assert own.middle.margin == found.candidates[1].middle.margin


def test_of_misses_that_read_alike_the_cheaper_is_nearest():
    soft = lever("material.durometer", "50 OO", ("40 OO", None, -3.93, 1.0))
    thin = lever("parts.tail.thickness", "3.2 mm", ("2 mm", None, -3.92, 1.0))
    picks = ranked([thin, soft])
    assert picks[0] is soft
    pair = Two((soft, thin), ("40 OO", "2 mm"), thin.cost, 0.4, tried("", None, -3.91, 1.0))
    assert nearest_to_brief(picks, [pair]) is soft
    better = Two((soft, thin), ("40 OO", "2 mm"), thin.cost, 0.4, tried("", None, -3.5, 1.0))
    assert nearest_to_brief(picks, [better]) is better


@pytest.mark.parametrize(("ratio", "idle"), [(0.99, True), (0.91, False)])
def test_a_change_that_moves_a_number_does_something(ratio, idle):
    """The same samples tell a change of a number where their chances alone cannot."""
    own, thick, _ = levers_of_a_bait_met_by_48()
    own = replace(own, changes=(Change(START, 0.8, 0.8, 0.8, 1.0, 64),))  # by what is set
    moved = Change(START, 0.8 * ratio, 0.7, 0.8, 1.0, 64)
    best = replace(thick.best, changes=(moved,))
    (found,) = told_from([replace(thick, best=best)], own)
    assert found.idle == idle
