"""Bands of marches that go on from the unmoved beat are those of marches from rest."""

import pytest

from simsoft.case.read import load
from simsoft.engine.run import run
from tests.golden.cases import CURL, HEAD, PADDLE, RIBBON, few, stream

WITHIN = 0.08  # of a band's width, which the other step and the end of settling may move it
# Of a part that is still these hold what is left of the first kick, far less than a motion.
LEFT_OF_THE_KICK = ("stroke", "side_force", "root_moment")


def ends(case, **how):
    """Return low and high by what they belong to."""
    found = run(case, **how).records
    still = [r.at["speed"] for r in found if r.quantity == "verdict" and r.value == "still"]
    return {
        (r.scenario, r.part, r.quantity, tuple(r.at.items())): (r.low, r.high)
        for r in found
        if isinstance(r.value, float)
        and r.low is not None
        and not (r.quantity in LEFT_OF_THE_KICK and r.at.get("speed") in still)
    }


def far_apart(tmp_path, text):
    """Return the bands of a case that the short way puts elsewhere, and how many there are."""
    path = tmp_path / "case.toml"
    path.write_text(text.format(kind="bands"))
    case = load(path)
    short, whole = ends(case), ends(case, anew=True)
    assert short.keys() == whole.keys()
    wide = {}
    for key, (low, high) in whole.items():
        assert (high is None) == (short[key][1] is None), key
        if high is None or high == low:
            continue
        shift = max(abs(short[key][0] - low), abs(short[key][1] - high)) / (high - low)
        if shift > WITHIN:
            wide[key] = shift
    return wide, len(whole)


@pytest.mark.slow
@pytest.mark.parametrize(
    "text",
    [
        HEAD + PADDLE + stream(0.35, 0.9, 1.1) + few(6),
        HEAD + CURL + stream(0.25, 0.5) + few(12),
        HEAD + RIBBON + stream(0.2, 0.6) + few(16),
    ],
    ids=["paddle", "curl", "ribbon"],
)
def test_the_short_way_to_the_bands_leads_where_the_long_one_does(tmp_path, text):
    wide, count = far_apart(tmp_path, text)
    assert count > 20
    assert wide == {}
