"""Records of the whole lure, in a run, in HDF5 and in JSON."""

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

import simsoft
from simsoft.lure.assembly import assemble_whole, mass_properties
from simsoft.lure.parts import GRAVITY, assemble
from simsoft.lure.records import moved_ends, whole_records
from simsoft.report.json import as_json
from simsoft.results import hdf5 as results_file
from simsoft.results.hdf5_reader import read_run
from simsoft.results.record import select

CASES = Path(__file__).parents[2] / "cases"
QUANTITIES = {
    "mass": "kg",
    "volume": "m^3",
    "net_weight": "N",
    "centre_of_mass": "m",
    "centre_of_buoyancy": "m",
    "length": "m",
    "projected_area": "m^2",
    "inertia": "kg m^2",
    "added_mass": "kg",
    "added_inertia": "kg m^2",
    "added_coupling": "kg m",
}


def stick(*overrides):
    return simsoft.load(CASES / "stick_127.toml", overrides)


def whole_of(case):
    return assemble_whole(case, assemble(case))


def one(records, quantity, part=""):
    (record,) = [r for r in select(records, quantity) if r.part == part]
    return record


def test_spread_adds_single_changes_in_quadrature_each_way():
    value = np.array(10.0)
    low, high = moved_ends(value, [np.array(7.0), np.array(14.0), np.array(6.0), np.array(9.0)])
    assert (low, high) == (pytest.approx(10.0 - 5.0), pytest.approx(14.0))
    low, high = moved_ends(np.array([1.0, 2.0]), [np.array([0.0, 2.5]), np.array([3.0, 2.0])])
    assert low == pytest.approx([0.0, 2.0])
    assert high == pytest.approx([3.0, 2.5])
    assert moved_ends(value, []) == (10.0, 10.0)


def test_the_whole_has_every_quantity_with_its_unit_and_band():
    records = whole_records(whole_of(stick()))
    assert {r.quantity: r.unit for r in records if not r.part} == QUANTITIES
    assert {r.part for r in records} == {"", "body", "hook"}
    for record in records:
        assert record.scenario == ""
        assert record.basis
        value, low, high = (np.atleast_1d(x) for x in (record.value, record.low, record.high))
        assert np.all(low <= value)
        assert np.all(value <= high)
    mass = one(records, "mass")
    assert mass.low < mass.value < mass.high
    hook = one(records, "mass", "hook")
    assert hook.low == hook.value == hook.high


def test_records_are_the_properties():
    whole = whole_of(stick())
    found, records = mass_properties(whole), whole_records(whole, bands=False)
    assert one(records, "mass").value == pytest.approx(found.mass)
    assert one(records, "centre_of_mass").value == pytest.approx(tuple(found.centre_of_mass))
    net = (found.mass - whole.water.density * found.volume) * GRAVITY
    assert one(records, "net_weight").value == pytest.approx(net)
    xx, yy, zz, xy, xz, yz = one(records, "inertia").value
    assert np.array([[xx, xy, xz], [xy, yy, yz], [xz, yz, zz]]) == pytest.approx(found.inertia)
    assert one(records, "added_mass").value[1] == pytest.approx(found.added_mass[4, 4])
    assert one(records, "added_inertia").value[2] == pytest.approx(found.added_mass[2, 2])
    coupling = np.reshape(one(records, "added_coupling").value, (3, 3))
    assert coupling == pytest.approx(found.added_mass[3:, :3])
    assert {(r.low, r.high) for r in records} == {(None, None)}


def test_the_sign_says_what_floats():
    heavy = one(whole_records(whole_of(stick())), "net_weight")
    assert heavy.low > 0.0
    light = stick("body.salt_fraction=0", "body.microballoon_fraction=4 %", "rig={}")
    assert one(whole_records(whole_of(light)), "net_weight").high < 0.0


def test_a_wider_tolerance_is_a_wider_band():
    widths = []
    for scatter in ("5 kg/m^3", "50 kg/m^3"):
        mass = one(whole_records(whole_of(stick(f"tolerance.density={scatter}"))), "mass")
        widths.append(mass.high - mass.low)
    assert widths[0] < 0.7 * widths[1]


def test_a_body_alone_runs_and_its_records_are_kept(tmp_path):
    result = simsoft.run(stick())
    assert not result.traces
    assert one(result.records, "mass").value == pytest.approx(0.011, rel=0.1)
    path = results_file.write_run(result, tmp_path / "results.h5")
    assert read_run(path).result.records == result.records
    found = json.loads(as_json(result, "1"))["records"]
    (mass,) = [r for r in found if r["quantity"] == "mass" and r["part"] == ""]
    assert (mass["unit"], mass["scenario"]) == ("kg", "")
    assert mass["low"] < mass["value"] < mass["high"]


def test_a_strip_alone_is_weighed_too():
    case = simsoft.load(CASES / "ribbon_150.toml")
    records = whole_records(whole_of(case))
    (part,) = {r.part for r in records} - {""}
    assert one(records, "mass").value == one(records, "mass", part).value
    bare = replace(case, scenarios=())
    assert whole_records(whole_of(bare)) == records


def test_the_creature_has_two_claws_of_one_weight():
    records = whole_records(whole_of(simsoft.load(CASES / "creature_95.toml")))
    left, right = (one(records, "mass", f"claw/{side}") for side in ("left", "right"))
    assert left.value == pytest.approx(right.value, rel=1e-12)
    assert one(records, "mass", "bullet").value == pytest.approx(7.087e-3, rel=1e-4)
    assert one(records, "centre_of_mass").value[1] == pytest.approx(0.0, abs=1e-12)
