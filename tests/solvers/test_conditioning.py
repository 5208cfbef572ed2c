"""Normal inputs after looks at lines of them, against closed forms and against plain sampling."""

import math
from statistics import NormalDist

import numpy as np
import pytest

from simsoft.solvers.conditioning import STRANGE, Known, blend, learn_side, learn_value

ROW = {"a": 0.3, "b": 0.4}
OTHER = {"b": 0.5, "c": 0.2}
SAMPLES = 400_000


def draw(seed=1):
    rng = np.random.default_rng(seed)
    return {name: rng.standard_normal(SAMPLES) for name in "abc"}, rng.standard_normal(SAMPLES)


def total(row, drawn):
    return sum(slope * drawn[name] for name, slope in row.items())


def test_nothing_known_is_standard_normal():
    assert Known().mean_of(ROW) == 0.0
    assert Known().variance_of(ROW) == pytest.approx(0.25)


def test_a_look_at_a_value_is_the_textbook_update():
    known, taken, chance = learn_value(Known(), ROW, 0.4, 0.5)
    assert taken == "used"
    assert chance == pytest.approx(math.erfc(0.4 / math.sqrt(0.5) / math.sqrt(2.0)))
    assert known.mean_of(ROW) == pytest.approx(0.4 * 0.25 / 0.5)
    assert known.variance_of(ROW) == pytest.approx(0.25 * 0.25 / 0.5)
    # what shares an input moves with it, what shares none stays
    assert known.mean_of(OTHER) == pytest.approx(0.4 * 0.2 / 0.5)
    assert known.variance_of({"c": 1.0}) == 1.0


def test_the_order_of_two_looks_does_not_matter():
    one, _, _ = learn_value(learn_value(Known(), ROW, 0.4, 0.3)[0], OTHER, -0.2, 0.4)
    two, _, _ = learn_value(learn_value(Known(), OTHER, -0.2, 0.4)[0], ROW, 0.4, 0.3)
    for row in (ROW, OTHER):
        assert one.mean_of(row) == pytest.approx(two.mean_of(row))
        assert one.variance_of(row) == pytest.approx(two.variance_of(row))


@pytest.mark.parametrize("below", [True, False])
@pytest.mark.parametrize("limit", [-0.5, 0.2])
def test_a_side_is_what_sampling_says(below, limit):
    known, taken, chance = learn_side(Known(), ROW, limit, 0.2, below=below)
    drawn, noise = draw()
    inside = (total(ROW, drawn) + 0.2 * noise < limit) == below
    assert taken == "used"
    assert chance == pytest.approx(inside.mean(), abs=4e-3)
    for row in (ROW, OTHER):
        kept = total(row, drawn)[inside]
        assert known.mean_of(row) == pytest.approx(kept.mean(), abs=5e-3)
        assert known.variance_of(row) == pytest.approx(kept.var(), rel=2e-2)


def test_a_strange_look_is_taken_without_a_jump_from_a_likely_one():
    edge = 0.5 * NormalDist().inv_cdf(1.0 - 0.5 * STRANGE)
    near, far = (learn_value(Known(), ROW, edge * size, 1e-6)[0] for size in (0.9999, 1.0001))
    assert near.mean_of(ROW) == pytest.approx(far.mean_of(ROW), abs=2e-3)
    assert near.variance_of(ROW) == pytest.approx(far.variance_of(ROW), abs=2e-3)


@pytest.mark.parametrize("size", [0.85, 1.0, 1.15, 1.28])
def test_a_higher_look_never_promises_more(size):
    """One deviation holds what was seen, and its far end grows with what was seen."""
    known, taken, _ = learn_value(Known(), ROW, size, 0.1)
    assert taken == "widened"
    reach = known.mean_of(ROW) + math.sqrt(known.variance_of(ROW))
    assert reach >= size - 1e-9
    assert known.mean_of(ROW) >= 0.45 * size


def test_a_blend_is_what_a_mixture_of_samples_has():
    rng = np.random.default_rng(2)
    one, _, _ = learn_value(Known(), ROW, 0.6, 0.1)
    other, _, _ = learn_value(Known(), OTHER, -0.4, 0.1)
    both = blend(one, other, 0.3)
    drawn = []
    for known, count in ((one, 120_000), (other, 280_000)):
        values = rng.multivariate_normal(known.mean, known.covariance, count)
        held = {n: values[:, i] for i, n in enumerate(known.names)}
        free = {n: rng.standard_normal(count) for n in "abc" if n not in known.names}
        drawn.append(total({"a": 0.3, "b": 0.4, "c": 0.2}, held | free))
    mixed = np.concatenate(drawn)
    row = {"a": 0.3, "b": 0.4, "c": 0.2}
    assert both.mean_of(row) == pytest.approx(mixed.mean(), abs=5e-3)
    assert both.variance_of(row) == pytest.approx(mixed.var(), rel=2e-2)


def test_a_strange_look_is_widened_and_an_impossible_one_is_left_out():
    near, taken, _ = learn_value(Known(), ROW, 1.5 * 0.5, 0.01)
    assert taken == "used"
    far, taken, chance = learn_value(Known(), ROW, 2.2 * 0.5, 0.01)
    assert taken == "widened"
    assert chance < 0.1
    assert far.variance_of(ROW) > 2.0 * near.variance_of(ROW)
    low, high = (far.mean_of(ROW) + side * math.sqrt(far.variance_of(ROW)) for side in (-1, 1))
    assert low < 0.3
    assert high >= 2.2 * 0.5
    gone, taken, _ = learn_value(Known(), ROW, 3.0 * 0.5, 0.01)
    assert taken == "refused"
    assert gone.variance_of(ROW) == pytest.approx(0.25)
    assert learn_side(Known(), ROW, -1.5, 0.01, below=True)[1] == "refused"
