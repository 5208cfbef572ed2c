"""The material that goes with the beat that it makes: marches until both agree."""

from types import SimpleNamespace

import numpy as np
import pytest

from simsoft.solvers.limit_cycle import Beat, agreed_beat

X = np.array([1.0, 0.0, 0.0])


def marched(found, settled=True, expected=1.0):
    """Return the beats of the materials taken, of marches that beat as a function says."""
    taken = []

    def once(frequency, _):
        taken.append(frequency)
        march = SimpleNamespace(settled=settled)
        return Beat(found(frequency), 0.1, X, 0.0, X, 0.0, 0.0, 0.0, march), None

    agreed_beat(once, lambda frequency: (frequency, 0.0), expected, 0.01, passes=20)
    return taken


def test_a_line_through_two_marches_leads_to_the_beat_that_agrees():
    taken = marched(lambda frequency: 0.65 + 0.5 * (frequency - 0.65), expected=0.45)
    assert taken == pytest.approx([0.45, 0.55, 0.65])


def test_it_leads_between_two_that_alternate():
    taken = marched(lambda frequency: 1.7 - frequency, expected=1.0)
    assert taken == pytest.approx([1.0, 0.7, 0.85])


def test_unsettled_marches_lead_nowhere():
    taken = marched(lambda frequency: 0.65 + 0.5 * (frequency - 0.65), False, 0.45)
    assert taken[:4] == pytest.approx([0.45, 0.55, 0.60, 0.625])


def test_where_the_line_is_steep_the_last_beat_is_taken():
    taken = marched(lambda frequency: 2.0 + 0.9 * (frequency - 2.0), expected=1.0)
    assert taken[:3] == pytest.approx([1.0, 1.1, 1.19])


def test_no_line_leads_farther_than_a_factor_of_two():
    taken = marched(lambda frequency: 5.0 + 0.79 * (frequency - 5.0), expected=0.1)
    assert taken[2] == pytest.approx(2.0 * (5.0 + 0.79 * (taken[1] - 5.0)))
