"""What was asked stands in text and page: sizes, pour, water, stiffness, settings, digest, date."""

import dataclasses
import math

import pytest

from simsoft.case.overrides import settings_of
from simsoft.case.read import loads
from simsoft.case.starter import starter
from simsoft.design.asked import short_digest
from simsoft.design.stiffness import stiffness
from simsoft.properties.material import DEFAULTS, dynamic_modulus
from simsoft.report.text.asked import asked_lines, asked_texts
from simsoft.report.text.run import summary
from simsoft.results.result import RunResult


def asked(*overrides, made=""):
    case = loads(starter("paddle-tail"), "tail.toml", overrides)
    return " ".join(" ".join(asked_lines(RunResult(case, ()), made)).split())


def test_sizes_pour_and_water_are_told_as_run():
    text = asked("parts.tail.thickness=2.2 mm", "water.temperature=5 degC")
    assert "12 mm long, 5 mm wide, 2.2 mm thick" in text
    assert "disc 14 mm, 3 mm thick, at 88 deg, 3 mm below" in text
    assert "50 OO; water 5 degC." in text
    assert "Set: parts.tail.thickness=2.2 mm; water.temperature=5 degC." in text


def test_inches_are_told_in_inches():
    assert "0.4724 inch long" in asked("length_unit=inch")


def test_the_modulus_used_is_that_of_the_material_at_its_frequency():
    case = loads(starter("paddle-tail"), "tail.toml", ["water.temperature=5 degC"])
    found = stiffness(case)
    direct = dynamic_modulus(case.material, case.tolerance, case.water.temperature, 5.0)
    assert found.modulus == pytest.approx((direct.value, direct.low, direct.high))
    colder = DEFAULTS.reference_temperature - case.water.temperature
    assert found.against_warm[0] == pytest.approx(math.exp(DEFAULTS.temperature_slope * colder))
    assert found.against_warm[1] < found.against_warm[0] < found.against_warm[2]


def test_at_22_degrees_the_water_changes_nothing():
    found = stiffness(loads(starter("paddle-tail"), "t", ["water.temperature=22 degC"]))
    assert found.against_warm == pytest.approx((1.0, 1.0, 1.0))


def test_a_stated_modulus_is_told_as_the_same_in_every_water():
    stated = starter("paddle-tail").replace('durometer = "50 OO"', 'youngs_modulus = "160 kPa"')
    case = loads(stated, "t", ["water.temperature=5 degC"])
    text = " ".join(asked_texts(RunResult(case, ())))
    assert "modulus stated 160 kPa" in text
    assert "kPa at 5 Hz, as stated, in water of any temperature; Poisson's ratio 0.49." in text


def test_a_case_without_parts_bends_nothing():
    case = loads(starter("paddle-tail"))
    assert stiffness(dataclasses.replace(case, parts=())) is None


def test_two_runs_that_differ_in_one_setting_differ_in_digest_and_a_date_is_told():
    plain, changed = (loads(starter("claw"), "c", s) for s in ((), ("water.temperature=5 degC",)))
    assert short_digest(plain) != short_digest(changed)
    told = asked_texts(RunResult(changed, ()), "2020-02-02")[-1]
    assert told == f"Run 2020-02-02, case {short_digest(changed)}."


def test_only_notes_at_the_end_of_a_text_are_settings():
    text = "# set a=1\ntitle = 'x'\n# set b=2\n# set c=3\n# profile shop.toml sha256 0\n"
    assert settings_of(text) == ["b=2", "c=3"]
    assert settings_of("title = 'x'\n") == []


def test_the_text_of_a_run_holds_the_block_after_its_answers(synthetic_result):
    text = summary(synthetic_result, "2020-02-02")
    assert text.index("kicks") < text.index("Case: ") < text.index("Asked: ")
    assert "Run 2020-02-02" in text
    assert all(len(line) <= 80 for line in text.splitlines())
