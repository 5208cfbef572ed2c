"""The batch window: cells are forward runs, adjustments really do it, the mass follows the salt."""

import csv
import dataclasses
import json

import pytest
from sweep_cases import PADDLE, STRIP

from simsoft.cli.batch import batch_command
from simsoft.core.errors import InputError
from simsoft.design.batch import STEPS, batch_window, into_the_cup, softener_correction
from simsoft.design.sweep.run import local_runner, read_base
from simsoft.report.text.batch import cell_text, law_text, recipe_rows

RING = """
[[brief]]
quantity = "natural_frequency"
at_least = "{}"
at_most = "{}"
"""


def window(tmp_path, text):
    path = tmp_path / "case.toml"
    path.write_text(text)
    return batch_window(read_base(path), tmp_path, local_runner(1, "full"))


@pytest.fixture
def found(tmp_path):
    """The window of a strip that has to ring neither low nor high."""
    return window(tmp_path, STRIP + RING.format("1.75 Hz", "2.05 Hz"))


def test_the_window_has_all_three_answers_and_stands_about_the_drawing(found):
    assert found.own in found.shore
    assert len(found.stems) == len(STEPS)
    assert found.stems[2] == "2 mm"
    words = {word for row in found.words for word in row}
    assert {"accept", "adjust"} <= words


def test_an_adjusted_batch_is_accepted_at_its_aim(found):
    for i, row in enumerate(found.words):
        for j, word in enumerate(row):
            aim = found.aims[i][j]
            assert (aim is not None) == (word == "adjust")
            if aim is not None:
                assert found.words[found.shore.index(aim)][j] == "accept"
                nearer = [
                    p for p in found.shore if abs(p - found.shore[i]) < abs(aim - found.shore[i])
                ]
                assert all(found.words[found.shore.index(p)][j] != "accept" for p in nearer)
                assert f"{aim:g} OO" in cell_text(found, i, j)


def test_a_stiffer_pour_and_a_thicker_stem_err_to_the_same_side(found):
    """Soft and thin is too slow, stiff and thick too fast: both ends want the other way."""
    first, last = found.aims[0], found.aims[-1]
    assert all(aim is None or aim > found.shore[0] for aim in first)
    assert all(aim is None or aim < found.shore[-1] for aim in last)


def test_what_no_durometer_mends_is_rejected(tmp_path):
    words = window(tmp_path, STRIP + RING.format("400 Hz", "500 Hz")).words
    assert {word for row in words for word in row} == {"reject"}


def test_thicker_parts_weigh_more_and_so_does_salt(found):
    masses = [value for _, value, _ in found.masses]
    assert masses == sorted(masses)
    assert all(low < value < high for low, value, high in found.masses)
    assert 0.0 < found.salt_step < 0.02


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (STRIP, "there is no \\[\\[brief\\]\\]"),
        (STRIP.replace('durometer = "50 OO"', 'youngs_modulus = "100 kPa"')
         + RING.format("1 Hz", "2 Hz"), "material.durometer"),
    ],
)  # fmt: skip
def test_what_is_missing_is_one_line(tmp_path, text, said):
    with pytest.raises(InputError, match=said):
        window(tmp_path, text)


def test_the_sheet_its_json_and_csv_say_the_same(tmp_path):
    path = tmp_path / "tail.toml"
    brief = '\n[[brief]]\nquantity = "start_speed"\nat_most = "0.5 m/s"\n'
    path.write_text(PADDLE + brief)
    options = {"overrides": (), "workers": 1, "as_json": False}
    text, notes = batch_command(str(path), tmp_path / "out", None, **options)
    body = json.loads((tmp_path / "out" / "batch.json").read_text())["window"]
    with open(tmp_path / "out" / "batch.csv", encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert [row["do"] for row in rows] == [word for line in body["words"] for word in line]
    page = (tmp_path / "out" / "batch.html").read_text(encoding="utf-8")
    assert all(stem in page and stem in text for stem in body["stems"])
    assert "batch.html" in notes[-1]


def test_softener_makes_up_for_the_difference_and_the_salt_stays_as_it_was(found):
    window = dataclasses.replace(found, softener=1.5, salt=0.2)
    adjusted = [
        (i, j) for i, row in enumerate(window.aims) for j, aim in enumerate(row) if aim is not None
    ]
    for i, j in adjusted:
        share = softener_correction(window, i, j)
        assert window.shore[i] - 1.5 * share == pytest.approx(window.aims[i][j])
        if share > 0.0:
            softener, salt = into_the_cup(window, share)
            cup = 100.0 + softener + salt
            assert 100.0 * softener / cup == pytest.approx(share)
            assert (0.2 * 100.0 + salt) / cup == pytest.approx(0.2)
            assert f"{softener:.2g} g and {salt:.2g} g of salt" in str(recipe_rows(window))
        assert ("more" if share > 0.0 else "less") in str(recipe_rows(window))
    assert adjusted


def test_without_two_pours_there_is_no_recipe(found):
    assert recipe_rows(found) == []
    assert "--softener" in law_text(found)
