"""The pocket card: the crank for a speed, the beat at it, and nothing that the run did not say."""

import dataclasses
import math

import pytest
from pages import Page, stored

from simsoft.cli import main as cli
from simsoft.report.html.card import card_page, crank_words, retrieve_of, speed_words
from simsoft.results.hdf5 import write_run
from simsoft.results.record import Record


def rows_of(text, title):
    """Return the cells of the table under a heading."""
    start = text.index("<tbody", text.index(f">{title}</h2>"))
    body = text[start : text.index("</tbody>", start) + 8]
    cells = [e[2] for e in Page(body).all("td")]
    width = body[: body.index("</tr>")].count("<td")
    return [cells[i : i + width] for i in range(0, len(cells), width)]


def test_crank_is_speed_over_what_a_turn_takes_up(synthetic_result, tmp_path):
    rows = rows_of(card_page(stored(synthetic_result, tmp_path), 0.5), "tail, stream")
    assert [row[0] for row in rows] == ["2.0", "6.0", "10.0", "4.9"]
    assert [row[1] for row in rows] == ["0.1 m/s", "0.3 m/s", "0.5 m/s", "0.24 m/s"]
    assert [row[3] for row in rows] == ["still", "kicks", "kicks", "the start"]
    assert rows[0][2] == "-"
    assert rows[1][2] == "3.4 (2.8 to 4.2)"


def test_spool_and_ratio_give_what_a_turn_takes_up():
    assert retrieve_of(0.045, 6.2) == pytest.approx(math.pi * 0.045 * 6.2)
    assert crank_words(0.6, retrieve_of(0.045, 6.2)) == "6.8"


def test_inch_users_see_feet(synthetic_result, tmp_path):
    case = dataclasses.replace(synthetic_result.case, length_unit="inch")
    text = card_page(stored(dataclasses.replace(synthetic_result, case=case), tmp_path), 0.3048)
    assert "takes up 1.00 ft a turn" in text
    rows = rows_of(text, "tail, stream")
    assert rows[1][:2] == ["9.8", speed_words(0.3, "inch")]
    assert rows[1][1] == "0.98 ft/s"


def test_the_sweep_from_edge_to_edge_stands_beside_the_beat(synthetic_result, tmp_path):
    def wide(speed, *band):
        at = {"speed": speed}
        return Record("stream", "tail", "edge_to_edge", *band, "m", "screening", at)

    records = (*synthetic_result.records, wide(0.3, 0.021, 0.018, 0.03))
    text = card_page(stored(dataclasses.replace(synthetic_result, records=records), tmp_path), 0.5)
    assert "edges sweep [mm]" in text
    rows = rows_of(text, "tail, stream")
    assert [row[3] for row in rows] == ["-", "21 (18 to 30)", "-", "-"]
    assert [row[4] for row in rows] == ["still", "kicks", "kicks", "the start"]


def test_count_down_and_casts_stand_where_the_run_has_them(synthetic_result, tmp_path):
    def deep(depth, value):
        at = {"depth": depth}
        return Record("fall", "", "time_to_depth", value, 0.9 * value, 1.2 * value, "s", "x", at)

    records = (*synthetic_result.records, deep(0.5, 2.0), deep(1.0, 4.0))
    text = card_page(stored(dataclasses.replace(synthetic_result, records=records), tmp_path), 0.7)
    assert rows_of(text, "Count down, fall") == [
        ["0.5 m", "2.0 (1.8 to 2.4)"],
        ["1 m", "4.0 (3.6 to 4.8)"],
    ]
    assert "Casts" not in text


def test_a_card_needs_no_script(synthetic_result, tmp_path):
    text = card_page(stored(synthetic_result, tmp_path), 0.7)
    told = Page(text)
    assert not told.all("script")
    (meta,) = told.all("meta", **{"http-equiv": "Content-Security-Policy"})
    assert "script-src" not in meta[1]["content"]
    assert "default-src 'none'" in meta[1]["content"]


@pytest.mark.parametrize(
    ("words", "complaint"),
    [
        ((), "the reel is needed"),
        (("--turn", "0.7"), "--turn: '0.7'"),
        (("--turn", "7 mm"), "is no size of a reel"),
        (("--spool", "45 mm"), "the reel is needed"),
        (("--spool", "45 mm", "--ratio", "60"), "is no gear of a reel"),
        (("--spool", "45 mm", "--ratio", "nan"), "is no gear of a reel"),
        (("--turn", "0.7 m", "--ratio", "5"), "the reel is needed"),
    ],
)
def test_a_reel_that_is_none_is_one_line(synthetic_result, tmp_path, capsys, words, complaint):
    write_run(synthetic_result, tmp_path / "results.h5")
    with pytest.raises(SystemExit) as caught:
        cli.main(["card", str(tmp_path), *words])
    err = capsys.readouterr().err
    assert caught.value.code == 2
    assert complaint in err
    assert len(err.splitlines()) == 1
    assert not (tmp_path / "card.html").exists()
