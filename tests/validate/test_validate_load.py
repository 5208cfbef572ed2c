"""Check files: what is refused, and that the refusal says where and why."""

import importlib
import tomllib

import pytest

import simsoft
from simsoft.case.read import load
from simsoft.core.errors import InputError
from simsoft.validate.load import load_check, load_checks
from simsoft.validate.locate import CASE_FILE, checks_directory

GOOD = """
[check]
id = "Z01"
title = "Doubling"
source = "arithmetic"
short = "arithmetic"
provenance = "recomputed, by hand"

[measures.force]
function = "simsoft.validate.hardness:durometer_force_a"
tolerance = "1 %"

[[runs]]
condition = "{} points"
each = "points"
arguments = { points = [0.0, 100.0] }
expect = { force = [0.55, 8.05] }
"""


def write(folder, text, name="Z01"):
    home = folder / name
    home.mkdir()
    (home / "expected.toml").write_text(text, encoding="utf-8")
    return home


def test_good_check_is_read(tmp_path):
    check = load_check(write(tmp_path, GOOD))
    assert (check.identity, check.case) == ("Z01", None)
    assert check.measures["force"].tolerance.size == pytest.approx(0.01)
    assert check.measures["force"].tolerance.relative
    assert check.runs[0].expect == {"force": (0.55, 8.05)}
    assert check.runs[0].labels == (0.0, 100.0)


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ('"Z01"', '"Z02"', "check.id: `Z02` is not the folder's name"),
        ('title = "Doubling"', "", "check.title: a text is needed"),
        ("recomputed, by hand", "somewhere", "must begin with one of published, recomputed"),
        ('tolerance = "1 %"', "", "measures.force.tolerance: missing"),
        ('"1 %"', '"1"', 'tolerance: `1` is neither "0.5 %" nor a positive number'),
        ('"1 %"', "-0.1", 'tolerance: `-0.1` is neither "0.5 %" nor a positive number'),
        ('"1 %"', "true", "tolerance: `true` is neither"),
        (
            "simsoft.validate.hardness",
            "os",
            "measures.force.function: must read simsoft.module:name",
        ),
        ("tolerance =", "tolerence =", "unknown key (did you mean `tolerance`?)"),
        ("tolerance =", 'quantity = "drag"\ntolerance =', "either `quantity` or `function`"),
        ("expect = { force", "expect = { farce", "`farce` is no measure (did you mean `force`?)"),
        ("[0.55, 8.05]", "[0.55]", "1 values for 2 conditions"),
        ("[0.55, 8.05]", "0.55", "a list is needed, one for each points"),
        ("[0.55, 8.05]", "[0.0, 8.05]", "a share of zero is no tolerance"),
        ("expect = {", "unlike = {} #", "nothing is expected"),
        ('each = "points"', 'each = "point"', "`point` is no argument with a list"),
        ("[[runs]]", "[[run]]", "unknown key (did you mean `runs`?)"),
        ("condition =", "condition", "(at line 14"),
    ],
)
def test_mistakes_are_named(tmp_path, old, new, message):
    assert old in GOOD
    with pytest.raises(InputError) as caught:
        load_check(write(tmp_path, GOOD.replace(old, new, 1)))
    assert str(caught.value).startswith("Z01/expected.toml: ")
    assert message in str(caught.value)


def test_a_measure_that_no_run_expects_is_refused(tmp_path):
    more = (
        GOOD
        + '[measures.idle]\nfunction = "simsoft.properties.material:penetration"\ntolerance = 1.0\n'
    )
    with pytest.raises(InputError, match=r"measures\.idle: no run expects it"):
        load_check(write(tmp_path, more))


def test_a_record_needs_a_case(tmp_path):
    text = GOOD.replace(
        'function = "simsoft.validate.hardness:durometer_force_a"', 'quantity = "drag"'
    )
    with pytest.raises(InputError, match=r"there is no case\.toml beside it"):
        load_check(write(tmp_path, text))


def test_every_wrong_check_is_listed(tmp_path):
    write(tmp_path, GOOD.replace("Doubling", ""))
    write(tmp_path, GOOD.replace("Doubling", ""), "Z02")
    with pytest.raises(InputError) as caught:
        load_checks(tmp_path)
    assert len(caught.value.problems) == 2


def test_an_unknown_id_gets_a_suggestion(tmp_path):
    write(tmp_path, GOOD)
    with pytest.raises(InputError) as caught:
        load_checks(tmp_path, ("Z11",))
    assert str(caught.value) == ("`Z11` is no published check (did you mean `z01`?); there are Z01")


def test_ids_are_found_in_small_letters(tmp_path):
    write(tmp_path, GOOD)
    assert [check.identity for check in load_checks(tmp_path, ("z01",))] == ["Z01"]


def test_installed_checks_come_before_those_beside_the_package(tmp_path):
    package = tmp_path / "simsoft"
    package.mkdir()
    (tmp_path / "validation").mkdir()
    write(tmp_path / "validation", GOOD)
    assert checks_directory(package) == tmp_path / "validation"
    (package / "_validation").mkdir()
    write(package / "_validation", GOOD)
    assert checks_directory(package) == package / "_validation"


def test_missing_checks_are_said(tmp_path):
    with pytest.raises(InputError, match="no published checks are in"):
        checks_directory(tmp_path)


def test_committed_checks_and_their_cases_are_read():
    checks = load_checks(checks_directory())
    assert len(checks) > 40
    for check in checks:
        for run in check.runs if check.case else ():
            load(check.case, run.overrides)


def test_notes_hold_no_line_breaks():
    assert all("\n" not in check.note for check in load_checks(checks_directory()))


def test_case_files_are_plain_toml_beside_the_package():
    for path in checks_directory().glob(f"*/{CASE_FILE}"):
        assert tomllib.loads(path.read_text(encoding="utf-8"))["title"]
    assert simsoft.__version__


def test_functions_of_committed_checks_exist():
    for check in load_checks(checks_directory()):
        for measure in check.measures.values():
            module, _, name = measure.function.partition(":")
            assert not module or hasattr(importlib.import_module(module), name), measure.function
