"""The beat of a mesh's case is the beat of the sizes that the bait was made from."""

import beat
import pytest
from true_cases import BEATING

from simsoft.case.read import loads


def side_by_side(bait, understood):
    read = loads(beat.written(understood), "read.toml")
    return beat.compared(bait, beat.predicted(read, bait.truth["kind"]))


def test_a_paddle_beats_as_its_true_sizes_do(bait, read_bait):
    rows = side_by_side(bait("kicker"), read_bait("kicker"))
    assert not beat.off(rows)
    assert not any(row[-1] for row in rows)
    beats = [row for row in rows if row[2] == "flap_frequency" and row[4] is not None]
    assert len(beats) == 2


def test_a_wrong_size_is_seen(bait, read_bait):
    text = beat.written(read_bait("kicker"))
    thicker = loads(text, "a.toml", ['parts.tail.thickness="2.1 mm"'])
    found, _ = beat.predicted(thicker, "paddle-tail")
    true, _ = beat.predicted(beat.true_case(bait("kicker")), "paddle-tail")
    first = ("natural_frequency", 1)
    assert abs(found[first] / true[first] - 1.0) > beat.NEAR


def test_only_a_rate_whose_march_did_not_settle_is_left_unjudged():
    def row(quantity, share, doubt):
        return "a", "curl-tail", quantity, 0.4, "5", "5.2", share, doubt

    assert beat.off([row("flap_frequency", "0.04", "")])
    assert not beat.off([row("flap_frequency", "0.04", "not settled")])
    assert beat.off([row("start_speed", "-0.04", "")])
    assert not beat.off([row("start_speed", "-0.02", "")])


@pytest.mark.slow
@pytest.mark.parametrize("name", BEATING)
def test_every_bait_beats_as_its_true_sizes_do(bait, read_bait, name):
    assert not beat.off(side_by_side(bait(name), read_bait(name)))
