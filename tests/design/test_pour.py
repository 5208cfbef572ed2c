"""The pour card: the pot adds up, baits follow its size, each mixture is a pour of its own."""

import csv
import json
from pathlib import Path

import pytest
from sweep_cases import PADDLE, RIGGED

from simsoft.case.read import loads
from simsoft.cli.main import commands
from simsoft.core.errors import InputError
from simsoft.design.cad import shot
from simsoft.design.pour import FILLED, LEFT, Softener, pour_card, softener_share
from simsoft.properties.mixture import SALT_DENSITY
from simsoft.report.text.pour import cautions, pour_text

POT = 5e-4
SALTED = RIGGED.replace('density = "1030 kg/m^3"\n', "").replace(
    'height = "10 mm"', 'height = "10 mm"\nsalt_fraction = "20 %"\nmicroballoon_fraction = "1 %"'
)


def masses(pour):
    return dict(pour.ingredients)


def test_the_pot_holds_what_fills_it_and_no_more():
    for text in (PADDLE, RIGGED, SALTED):
        card = pour_card(loads(text), POT)
        for pour in card.pours:
            assert pour.mass == pytest.approx(FILLED * POT * pour.density, rel=1e-12)


def test_fillers_have_their_shares_and_densities_mix():
    body, *_ = pour_card(loads(SALTED), POT).pours
    assert body.pieces == ("body",)
    parts = masses(body)
    assert parts["salt"] / body.mass == pytest.approx(0.2)
    assert parts["microballoons"] / body.mass == pytest.approx(0.01)
    volume = (
        parts["salt"] / SALT_DENSITY + parts["microballoons"] / 200.0 + parts["compound"] / 1020
    )
    assert volume == pytest.approx(FILLED * POT, rel=1e-6)


def test_salt_of_the_compound_and_of_the_body_add_up():
    more = SALTED.replace('durometer = "46 OO"', 'durometer = "46 OO"\nsalt_fraction = "10 %"')
    body, *others = pour_card(loads(more), POT).pours
    assert masses(body)["salt"] / body.mass == pytest.approx(0.2 + 0.79 * 0.1)
    assert all(masses(pour)["salt"] / pour.mass == pytest.approx(0.1) for pour in others)


def test_baits_are_whole_pours_of_what_cad_calls_a_shot():
    case = loads(RIGGED + "\n[shop]\ncavities = 4\nrunner_share = 0.3\n")
    card, taken = pour_card(case, POT), shot(case)
    assert sum(pour.one[1] for pour in card.pours) == pytest.approx(taken.mass)
    (pour,) = card.pours
    assert pour.plate == pytest.approx(taken.plate_mass)
    assert pour.plates[1] == int(pour.mass * (1.0 - LEFT) / taken.plate_mass)
    assert pour.baits[1] == 4 * pour.plates[1]
    assert pour.plates[0] <= pour.plates[1] <= pour.plates[2]


def test_a_pot_twice_as_large_pours_twice_as_many():
    (one,), (two,) = (pour_card(loads(PADDLE), pot).pours for pot in (POT, 2.0 * POT))
    assert two.baits[1] in (2 * one.baits[1], 2 * one.baits[1] + 1)
    assert one.baits[0] < one.baits[1] < one.baits[2]


def test_softener_follows_the_makers_two_pours():
    case = loads(PADDLE)
    assert softener_share(case, Softener(60.0, 1.4)) == pytest.approx(0.1)
    (pour,) = pour_card(case, POT, Softener(60.0, 1.4)).pours
    assert masses(pour)["softener"] / pour.mass == pytest.approx(0.1)
    with pytest.raises(InputError, match="softer than the 46 OO"):
        pour_card(case, POT, Softener(40.0, 1.4))
    with pytest.raises(InputError, match=r"allowed are 25 %"):
        pour_card(case, POT, Softener(90.0, 1.0))
    stated = loads(PADDLE.replace('durometer = "46 OO"', 'youngs_modulus = "200 kPa"'))
    with pytest.raises(InputError, match=r"material\.durometer"):
        pour_card(stated, POT, Softener(60.0, 1.4))


def test_a_pot_too_small_for_one_plate_says_how_large_a_pot_is_needed():
    case = loads(RIGGED + "\n[shop]\ncavities = 20\n")
    text = pour_text(case.title, pour_card(case, 2e-5), "")
    needed = float(text.split("A pot of")[1].split()[0])
    assert "None: one pour takes" in text
    assert pour_card(case, 1.01e-6 * needed).pours[0].plates[1] == 1


def test_powders_are_cautioned_against_where_there_are_any():
    plain, salted = (cautions(pour_card(loads(text), POT)) for text in (PADDLE, SALTED))
    assert len(salted) == len(plain) + 1
    assert "hydrogen chloride" in " ".join(plain)


def test_the_command_keeps_page_text_json_and_table(tmp_path, capsys):
    path, out = tmp_path / "case.toml", tmp_path / "out"
    path.write_text(SALTED)
    words = ["pour", str(path), "--pot", "1 l", "--out", str(out), "--json", "--quiet"]
    assert commands.main(words, standalone_mode=False) == 0
    told = json.loads(capsys.readouterr().out)
    assert told == json.loads((out / "pour.json").read_text())
    with open(out / "pour.csv", encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert sum(float(row["mass_kg"]) for row in rows) == pytest.approx(
        sum(mass for pour in told["pour"]["pours"] for _, mass in pour["ingredients"])
    )
    page = (out / "pour.html").read_text(encoding="utf-8")
    assert "hydrogen chloride" in page
    assert (out / "pour.txt").read_text().startswith("Test jig: pour card")


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--pot", "500"], "has no unit"),
        (["--pot", "5 g"], "wrong dimension"),
        (["--pot", "1 m^3"], "is no size of a pot"),
        (["--pot", "1 l", "--base", "60 OO"], "go together"),
        (["--pot", "1 l", "--base", "60", "--softener", "1.4"], "write it as '60 OO'"),
        (["--pot", "1 l", "--base", "10 A", "--softener", "1.4"], "is on scale A"),
    ],
)
def test_a_wrong_pot_or_base_is_one_line_and_nothing_is_written(tmp_path, words, said):
    path = Path(tmp_path / "case.toml")
    path.write_text(PADDLE)
    words = ["pour", str(path), "--out", str(tmp_path / "out"), *words]
    with pytest.raises(InputError, match=said) as found:
        commands.main(words, standalone_mode=False)
    assert len(found.value.problems) == 1
    assert not (tmp_path / "out").exists()
