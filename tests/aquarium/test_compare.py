"""Compare: conditions of the test, pairing, verdicts, locks, many designs."""

import json
from dataclasses import replace
from datetime import UTC, datetime

import pytest

from simsoft.aquarium import compare as room
from simsoft.aquarium.compare import as_measured, compare_all, compare_numbers
from simsoft.aquarium.files.lock import lock_text, locked_before, read_lock
from simsoft.aquarium.measured import Flag, Measured, lacking, pooled
from simsoft.case.read import loads
from simsoft.core.errors import InputError
from simsoft.engine.run import run
from simsoft.report.text.tank import compared_json, compared_page, designs_page
from simsoft.results.record import Record

CASE = """title = "Sluice ribbon"
[material]
durometer = "50 OO"
[[parts]]
name = "tail"
kind = "ribbon"
length = "40 mm"
width = "6 mm"
thickness = "1 mm"
[[scenarios]]
name = "stream"
kind = "retrieve"
speed = ["0.2 m/s", "0.5 m/s"]
[[scenarios]]
name = "tank"
kind = "hold"
"""


def record(quantity, value, low, high, unit="Hz", **at):
    return Record("stream", "tail", quantity, value, low, high, unit, "test", at)


def measured(quantity="flap_frequency", value=5.0, u=0.1, unit="Hz", **at):
    return Measured(quantity, value, u, unit, "test", 5, at)


@pytest.fixture
def case():
    return loads(CASE)


@pytest.fixture
def solved(monkeypatch):
    """Replace the solver; return the cases it was asked for."""
    asked = []

    class Answer:
        records = (
            record("flap_frequency", 5.5, 4.5, 7.0, speed=0.4),
            record("verdict", "flutters", None, None, "", speed=0.4),
            record("verdict", "flutters", None, None, "", speed=0.2),
            record("sink_rate", 0.2, 0.15, 0.25, "m/s"),
        )

    def run(case, progress=None):
        asked.append(case)
        return Answer()

    monkeypatch.setattr(room, "run", run)
    return asked


def test_the_case_runs_at_the_measured_conditions(case, solved):
    pairs = compare_all(case, [measured(speed=0.4, temperature=285.15)])
    assert solved[0].water.temperature == 285.15
    assert [s.kind for s in solved[0].scenarios] == ["retrieve"]
    assert solved[0].scenarios[0].speeds == (0.4,)
    assert not solved[0].scenarios[0].onset
    assert pairs[0].error == pytest.approx(0.1)
    assert pairs[0].error_n == pytest.approx(0.5 / (2 * (1.0**2 + 0.1**2) ** 0.5))
    assert pairs[0].goes == (True, True)


def test_two_waters_are_two_runs_and_repeats_are_pooled(case, solved):
    found = [
        measured(value=5.0, speed=0.4, temperature=285.15),
        measured(value=5.4, speed=0.402, temperature=285.2),
        measured(value=5.1, speed=0.4, temperature=295.15),
    ]
    pairs = compare_all(case, found)
    assert len(pairs) == 2
    assert len(solved) == 2
    assert pairs[0].measured.n == 2


def test_a_start_speed_is_searched_only_where_one_was_measured(case):
    plate = loads(CASE.replace('"6 mm"', '"16 mm"'))
    for asked, wanted in (
        (case, [measured("start_speed", 0.3, 0.02, "m/s")]),
        (plate, [measured(speed=0.5)]),  # a plate takes its expected beat from the search
    ):
        assert as_measured(asked, wanted).scenarios[0].onset


def test_a_rod_beats_the_same_without_the_search_for_its_start():
    """What `compare` leaves out must not change what it compares."""
    text = CASE.replace('["0.2 m/s", "0.5 m/s"]', '"0.9 m/s"') + "[numerics]\nelements = 12\n"
    without = as_measured(loads(text), [measured(speed=0.9)])
    searched = replace(without, scenarios=(replace(without.scenarios[0], onset=True),))
    found = [
        {r.quantity: r.value for r in run(case, bands=False).records}
        for case in (without, searched)
    ]
    assert found[0]["flap_frequency"] is not None
    for name in ("flap_frequency", "stroke", "verdict"):
        assert found[0][name] == found[1][name]


def test_any_quantity_of_a_record_can_be_compared(solved):
    case = loads(CASE + '[body]\nfamily = "worm"\nlength = "90 mm"\nheight = "6 mm"\n')
    pair = compare_all(case, [measured("sink_rate", 0.21, 0.005, "m/s")])[0]
    assert pair.verdict.startswith("says little: within 10 %")
    nothing = compare_all(case, [measured("hop_height", 0.1, 0.01, "m")])[0]
    assert nothing.verdict == room.NOT_ASKED


def test_a_beat_without_a_speed_is_not_compared(case, solved):
    assert compare_all(case, [measured()])[0].verdict == room.NO_SPEED


def test_a_beat_predicted_where_none_was_seen_is_a_false_go(case, solved):
    still = lacking("flap_frequency", "Hz", "counted", "no beat was counted")
    still = Measured(**{**vars(still), "at": {"speed": 0.2}})
    pairs = compare_all(case, [still])
    assert pairs[0].goes == (True, False)
    assert pairs[0].verdict == "disagrees: predicted, but none was seen (no beat was counted)"
    assert "FALSE GO: 1" in compared_page(pairs, "a")


def test_a_tail_that_was_not_seen_is_no_tail_that_stood_still(case, solved):
    lost = lacking("flap_frequency", "Hz", "kymograph", "the tail is not seen")
    lost = Measured(**{**vars(lost), "at": {"speed": 0.2}})
    pair = compare_all(case, [lost])[0]
    assert pair.goes is None
    assert pair.judgement == "not judged"
    nothing = Record("run", "tail", "flap_frequency", None, None, None, "Hz", "", {}, "no beat")
    assert compare_numbers(measured(), nothing).judgement == "disagrees"
    none_seen = lacking("flap_frequency", "Hz", "counted", "no beat was counted")
    assert compare_numbers(none_seen, nothing).judgement == "agrees"


def test_a_measurement_in_doubt_is_not_judged():
    doubtful = Measured(
        "flap_frequency", 5.0, 0.1, "Hz", "test", 5, {}, (Flag("alias", "too slow"),)
    )
    found = compare_numbers(doubtful, record("flap_frequency", 5.0, 4.0, 6.0))
    assert found.verdict == "not judged: the measurement is in doubt (alias)"


def test_pooling_takes_the_larger_of_stated_and_seen_scatter():
    tight = pooled([measured(value=5.0, u=0.01), measured(value=6.0, u=0.01)])
    assert tight.value == pytest.approx(5.5)
    assert tight.u > 0.5
    loose = pooled([measured(value=5.0, u=1.0), measured(value=5.0, u=1.0)])
    assert loose.u == pytest.approx(1.0 / 2**0.5)


def test_material_is_compared_without_a_run(case, solved):
    pair = compare_all(case, [measured("density", 1030.0, 2.0, "kg/m^3")])[0]
    assert not solved or not solved[0].scenarios
    assert pair.predicted.value == pytest.approx(1020.0)


def lock_of(case, tmp_path, when=datetime(2026, 5, 4, 12, tzinfo=UTC)):
    path = tmp_path / "lock.json"
    records = (
        record("flap_frequency", 4.8, 4.5, 5.5, speed=0.4),
        record("verdict", "flutters", None, None, "", speed=0.4),
    )
    path.write_text(lock_text(case.title, case.text, "0.1.0", records, when))
    return path


def test_a_locked_prediction_is_the_one_compared(case, solved, tmp_path):
    lock = read_lock(lock_of(case, tmp_path))
    pair = compare_all(case, [measured(speed=0.4, date="2026-05-06")], lock=lock)[0]
    assert pair.predicted.value == 4.8
    assert pair.locked == "locked 2026-05-04, before the test"
    assert not solved
    late = compare_all(case, [measured(speed=0.4, date="2026-05-01")], lock=lock)[0]
    assert "AFTER" in late.locked
    other = compare_all(loads(CASE.replace("40 mm", "41 mm")), [measured(speed=0.4)], lock=lock)[0]
    assert other.locked.startswith("not locked")
    assert other.predicted.value == 5.5


def test_a_lock_shows_any_change(case, tmp_path):
    path = lock_of(case, tmp_path)
    path.write_text(path.read_text().replace("4.8", "4.9"))
    with pytest.raises(InputError, match="changed after it was locked"):
        read_lock(path)
    path.write_text("{}")
    with pytest.raises(InputError, match="not a locked prediction"):
        read_lock(path)


def test_the_day_of_the_lock_tells_no_order(case, tmp_path):
    lock = read_lock(lock_of(case, tmp_path))
    assert locked_before(lock, "2026-05-04") is None
    assert locked_before(lock, "2026-05-04T18:00:00") is True
    assert locked_before(lock, "") is None


def test_water_without_a_stated_temperature_stays_that_of_the_case(case):
    assert as_measured(case, [measured(speed=0.4)]).water == case.water


def test_pages_and_json(case, solved):
    pairs = compare_all(case, [measured(speed=0.4)])
    page = compared_page(pairs, case.title)
    assert "E_n" in page
    assert "not locked" in page
    body = json.loads(compared_json("0.1.0", case.title, pairs, ""))
    assert body["records"][0]["quantity"] == "flap_frequency"
    assert body["comparisons"][0]["judgement"] == "says little"
    many = designs_page([("a", pairs), ("b", pairs), ("c", pairs)])
    assert "bias x1.100" in many
    assert "a sketch" in many
