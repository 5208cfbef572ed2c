"""The table of the whole lure in the text report."""

import dataclasses

import pytest

from simsoft.case.model import BodyInput, RigInput, Taper
from simsoft.report.text.run import summary
from simsoft.report.text.whole import sinks
from simsoft.results.record import Record

EVEN = Taper((0.0, 1.0), (0.01, 0.01))


def record(part, quantity, value, low, high, unit):
    return Record("", part, quantity, value, low, high, unit, "geometry")


def weighed(net=(0.02, 0.018, 0.022)):
    centre = (0.0624, 0.0, 0.0002)
    return (
        record("", "mass", 0.011, 0.0108, 0.0112, "kg"),
        record("", "volume", 8.7e-6, 8.55e-6, 8.85e-6, "m^3"),
        record("", "net_weight", *net, "N"),
        record("", "centre_of_mass", centre, centre, centre, "m"),
        record("", "centre_of_buoyancy", centre, centre, centre, "m"),
        record("", "length", 0.127, 0.127, 0.127, "m"),
        record("", "projected_area", (1e-4, 1.3e-3, 1.2e-3), None, None, "m^2"),
        record("", "inertia", (1e-6,) * 6, None, None, "kg m^2"),
        record("body", "mass", 0.0102, 0.0100, 0.0105, "kg"),
        record("body", "volume", 8.6e-6, 8.45e-6, 8.75e-6, "m^3"),
        record("hook", "mass", 0.00078, 0.00078, 0.00078, "kg"),
        record("hook", "volume", 1e-7, 1e-7, 1e-7, "m^3"),
    )


def rigged(result, records=None, **changes):
    body = BodyInput("worm", 0.127, EVEN, EVEN)
    case = dataclasses.replace(result.case, **({"body": body} | changes))
    return dataclasses.replace(result, case=case, records=weighed() if records is None else records)


def test_a_body_without_scenarios_answers_what_it_weighs(synthetic_result):
    lines = summary(rigged(synthetic_result)).splitlines()
    assert lines[0].startswith("whole lure weighs 11.00 g (10.80 to 11.20) and sinks: 20 mN")
    table = lines[lines.index("whole lure") :]
    assert table[2].split() == ["piece", "mass", "[g]", "volume", "[cm3]"]
    assert table[3].split(maxsplit=1)[1].startswith("10.2 (10.0 to 10.5)")
    assert table[4].split() == ["hook", "0.780", "0.100"]
    assert table[5].startswith("  together")
    text = "\n".join(table)
    assert "net weight in water: 20 mN (18 to 22), sinks" in text
    assert "centre of mass: (62.4, 0.0, 0.2) mm from the nose" in text
    assert "(1.0, 13.0, 12.0) cm2" in text


def test_the_table_stands_beside_the_parts_in_eighty_columns(synthetic_result):
    long = [dataclasses.replace(r, part=r.part and r.part * 20) for r in weighed()]
    text = summary(rigged(synthetic_result, (*long, *synthetic_result.records)))
    assert text.startswith("tail kicks from 0.24 m/s")
    assert max(map(len, text.splitlines())) <= 80
    assert "bodybodybodybodybo..." in text


def test_a_case_of_parts_alone_shows_no_whole_lure(synthetic_result):
    records = (*weighed(), *synthetic_result.records)
    text = summary(rigged(synthetic_result, records, body=None))
    assert "whole lure" not in text
    assert text == summary(synthetic_result)
    assert "whole lure" in summary(rigged(synthetic_result, records, body=None, rig=RigInput()))


def test_inches(synthetic_result):
    assert "length: 5.00 inch" in summary(rigged(synthetic_result, length_unit="inch"))


@pytest.mark.parametrize(
    ("net", "word"),
    [
        ((0.02, 0.018, 0.022), "sinks"),
        ((-0.02, -0.022, -0.018), "floats"),
        ((0.001, -0.002, 0.004), "may float or sink"),
        ((-0.001, None, None), "floats"),
    ],
)
def test_what_the_net_weight_means(net, word):
    assert sinks(weighed(net)[2]) == word
