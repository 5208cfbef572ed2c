"""Samples drawn given what was seen of the bait in hand."""

from __future__ import annotations

import math

import numpy as np
import pytest
from sweep_cases import PADDLE

from simsoft.design.sweep.run import local_runner, read_base
from simsoft.design.tolerance import given_looks, make_trial, points, run_samples

BRIEF = '\n[[brief]]\nquantity = "start_speed"\nat_most = "0.42 m/s"\n'
STRANGE = 1.1  # [m/s], of a look that two or three in a hundred draws would have
LOOK = '\n[[seen]]\nquantity = "start_speed"\nvalue = "{} m/s"\nby = "eye"\n'


def starts(tmp_path, look, sets=(), count=32):
    """Return the trial and the start speeds of its samples."""
    path = tmp_path / "paddle.toml"
    path.write_text(PADDLE + BRIEF + look)
    trial = given_looks(make_trial(read_base(path, sets)), count, 1, tmp_path, 1)
    found = run_samples(trial, points(trial, count, 1), tmp_path, local_runner(1, "fast"))
    values = [s.findings[0].record.value for s in found if s.findings]
    return trial, np.array([math.nan if v is None else v for v in values])


def test_samples_gather_about_what_was_seen(tmp_path):
    (_, plain), (trial, given) = starts(tmp_path, ""), starts(tmp_path, LOOK.format(0.5))
    assert np.nanmedian(given) == pytest.approx(0.5, rel=0.06)
    assert 0.08 < np.nanstd(np.log(given)) < 0.18  # a look by eye is good to 15 %
    assert np.nanmedian(plain) < 0.45
    first, last = trial.in_hand.told
    assert first == "seen: start speed 0.5 m/s: every sample is drawn given it"
    assert last.startswith("128 samples were drawn; given what was seen they count as ")


def test_what_is_set_does_not_change_what_was_seen(tmp_path):
    """The draws are the same with and without --set, so every sample changes as the model says."""
    (_, own), (_, moved) = (
        starts(tmp_path, LOOK.format(0.5), sets) for sets in ((), ["parts.tail.thickness=1.6 mm"])
    )
    ratio = moved / own
    (_, plain), (_, thin) = (
        starts(tmp_path, "", sets) for sets in ((), ["parts.tail.thickness=1.6 mm"])
    )
    assert np.nanmedian(ratio) == pytest.approx(np.nanmedian(thin / plain), rel=0.02)
    low, high = np.nanpercentile(ratio, (25.0, 75.0))  # a few samples start in another mode
    assert high - low < 0.1


def test_a_strange_look_is_believed_by_a_part_of_the_samples(tmp_path):
    (_, plain), (trial, given) = starts(tmp_path, ""), starts(tmp_path, LOOK.format(STRANGE))
    assert "strange, so" in trial.in_hand.told[0]
    believing = np.nanmean(given > 0.8 * STRANGE)
    assert 0.4 < believing < 0.95  # half of them at least, and not all
    assert np.nanmin(given) < np.nanpercentile(plain, 60.0)


def test_an_impossible_look_leaves_the_samples_alone(tmp_path):
    trial, given = starts(tmp_path, LOOK.format(5))
    assert not trial.in_hand.owns
    assert "left out" in trial.in_hand.told[0]
    assert np.nanmedian(given) == pytest.approx(np.nanmedian(starts(tmp_path, "")[1]), rel=1e-12)


def test_kicking_at_a_speed_takes_the_late_starts_away(tmp_path):
    look = '\n[[seen]]\nquantity = "verdict"\nequals = "{}"\nspeed = "0.35 m/s"\nby = "eye"\n'
    kicks, still = (starts(tmp_path, look.format(word))[1] for word in ("kicks", "still"))
    assert np.nanquantile(kicks, 0.8) < 0.45
    assert np.nanquantile(still, 0.2) > 0.3
