"""The beat of a mesh's case is the beat of the sizes that the bait was made from."""

import beat
import pytest
from true_cases import BEATING

NEAR = 0.03  # of every frequency and of the start speed
ASKED = ("natural_frequency", "start_frequency", "flap_frequency", "start_speed")


def off(rows):
    """Return what differs by more than allowed, or is said in other words."""
    found = []
    for name, _, quantity, at, true, read, share in rows:
        if quantity == "verdict" and true != read:
            found.append((name, at, true, read))
        if quantity in ASKED and (
            (true is None) != (read is None) or abs(float(share or 0)) > NEAR
        ):
            found.append((name, quantity, at, true, read))
    return found


def test_a_paddle_beats_as_its_true_sizes_do(bait, read_bait):
    rows = beat.compared(bait("kicker"), read_bait("kicker"))
    assert not off(rows)
    beats = [row for row in rows if row[2] == "flap_frequency" and row[4] is not None]
    assert len(beats) == 2


def test_a_wrong_size_is_seen(bait, read_bait):
    from simsoft.case.read import loads
    from simsoft.drawn.case_text import case_text

    wide = case_text(read_bait("kicker"), "a.html", "b.stl")
    thicker = loads(wide, "a.toml", ['parts.tail.thickness="2.1 mm"'])
    found = beat.predicted(thicker, "paddle-tail")
    true = beat.predicted(beat.true_case(bait("kicker")), "paddle-tail")
    first = ("natural_frequency", 1)
    assert abs(found[first] / true[first] - 1.0) > NEAR


@pytest.mark.slow
@pytest.mark.parametrize("name", BEATING)
def test_every_bait_beats_as_its_true_sizes_do(bait, read_bait, name):
    assert not off(beat.compared(bait(name), read_bait(name)))
