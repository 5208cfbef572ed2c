"""Salt slows a fall where it lays the lure level, and the answer says so."""

import math
from types import SimpleNamespace

import pytest

from simsoft.core.errors import SolveError
from simsoft.results.outcome import Outcome
from simsoft.scenarios.free.salt import warn_of_salt

GIVEN = {"body": {"density": 1000.0, "thickness": 1.0}}


def fallen(rate, nose):
    return SimpleNamespace(sink_rate=rate, final_attitude=math.radians(nose), glide=0.0)


def told(found, rate_of):
    own, asked = Outcome(), []

    def drop(values):
        asked.append(values["body"]["density"])
        return fallen(*rate_of(asked[-1]))

    warn_of_salt(own, GIVEN, found, drop)
    return own.warnings, asked


def test_a_denser_body_that_sinks_slower_is_told():
    (words,), asked = told(fallen(0.3, 40.0), lambda density: (0.25, 20.0))
    assert asked == [1050.0]
    assert "5 % denser" in words
    assert "0.25 m/s in place of 0.3 m/s" in words
    assert "nose down by 20 deg in place of nose down by 40 deg" in words


def test_a_lighter_body_that_sinks_faster_is_told():
    (words,), asked = told(fallen(0.3, 10.0), lambda d: (0.33, 5.0) if d > 1e3 else (0.4, 60.0))
    assert asked == [1050.0, 950.0]
    assert "5 % lighter" in words


@pytest.mark.parametrize("nose", [0.0, 40.0])
def test_where_more_weight_sinks_faster_or_the_fall_is_level_nothing_is_said(nose):
    warnings, asked = told(fallen(0.3, nose), lambda density: (0.3 * density / 1000.0, nose))
    assert warnings == []
    assert len(asked) == (2 if nose else 0)


def test_a_changed_fall_that_diverges_is_no_reason_to_fail():
    own = Outcome()

    def drop(values):
        raise SolveError("diverged")

    warn_of_salt(own, GIVEN, fallen(0.3, 40.0), drop)
    assert own.warnings == []
