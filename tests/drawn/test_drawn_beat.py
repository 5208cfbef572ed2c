"""The beat of a mesh's case is the beat of the sizes that the bait was made from."""

import beat
import pytest
from true_cases import BEATING

from simsoft.case.read import loads


def test_a_paddle_beats_as_its_true_sizes_do(bait, read_bait):
    rows, _ = beat.beside(bait("kicker"), read_bait("kicker"))
    assert not beat.off(rows)
    beats = [row for row in rows if row[2] == "flap_frequency" and row[4] is not None]
    assert len(beats) == 2


def test_a_wrong_size_is_seen(bait, read_bait):
    text = beat.written(read_bait("kicker"))
    thicker = loads(text, "a.toml", ['parts.tail.thickness="2.1 mm"'])
    found = beat.predicted(thicker, "paddle-tail")
    true = beat.predicted(beat.true_case(bait("kicker")), "paddle-tail")
    first = ("natural_frequency", 1)
    assert abs(found[first] / true[first] - 1.0) > beat.NEAR


def test_true_sizes_are_moved_by_the_doubt_that_is_stated(bait, read_bait):
    crescent = bait("crescent")
    found = {one.name: one for one in beat.moved(crescent, beat.written(read_bait("crescent")))}
    longer = found["crescent with length +0.05 mm"]
    assert longer.truth["length"] == pytest.approx(30.05)
    thinner = found["crescent with thickness -0.01 mm"]
    assert thinner.truth["thickness"] == pytest.approx([1.19, 0.59])
    assert len(found) == 8
    assert crescent.truth["length"] == 30


def test_a_small_move_of_the_start_is_no_second_branch():
    def rows(start):
        return [("a", "curl-tail", "start_speed", "", start, start, "0")]

    assert not beat.jumps(rows("0.300"), rows("0.320"))
    assert beat.jumps(rows("0.300"), rows("0.383"))
    assert beat.jumps(rows(None), rows("0.383"))
    assert not beat.jumps(rows(None), rows(None))


@pytest.mark.slow
@pytest.mark.parametrize("name", BEATING)
def test_every_bait_beats_as_its_true_sizes_do(bait, read_bait, name):
    rows, second = beat.beside(bait(name), read_bait(name))
    assert not beat.off(second or rows)
