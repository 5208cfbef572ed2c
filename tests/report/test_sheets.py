"""Pages, JSON and CSV that pick, tolerance, sweep, measure, compare, calibrate and plan keep."""

import csv
import json
import math

import pytest
from browser import CONTRAST, DESK, LOW_CONTRAST, MOST_BYTES, PAGES, PHONE, papers
from pages import HOSTILE, Page

from simsoft.cli import main as cli
from simsoft.design.candidates import Candidate
from simsoft.design.pick import choose
from simsoft.design.sweep.axis import read_axis
from simsoft.design.tolerance import Probability, Sample
from simsoft.report.html.design import pick_sheet
from simsoft.report.html.sheet import sheet_page

TAIL = """
title = 'TITLE'
[water]
temperature = "16 degC"
[material]
durometer = "46 OO"
[[parts]]
name = "tail"
kind = "paddle-tail"
length = "11 mm"
width = "4 mm"
thickness = "2 mm"
paddle_diameter = "15 mm"
paddle_thickness = "3 mm"
paddle_offset = "5 mm"
[numerics]
elements = 6
[[scenarios]]
name = "retrieve"
kind = "retrieve"
speed = ["0.5 m/s"]
[[brief]]
quantity = "start_speed"
at_most = "0.5 m/s"
"""
STRIP = """
title = 'TITLE'
[material]
durometer = "50 OO"
[[parts]]
name = "tail"
kind = "strip"
length = "30 mm"
width = "6 mm"
thickness = "2 mm"
[[scenarios]]
name = "tank"
kind = "hold"
modes = 1
[[scenarios]]
name = "stream"
kind = "retrieve"
speed = "0.2 m/s"
[numerics]
elements = 8
"""
FLICK = "run_id,quantity,value,u_68,unit,method,n\nf1,natural_frequency,3.3,0.05,Hz,flick,6\n"
WEIGH = "part_id,mass_g,mass_sub_g,water_C\na,10,0.25,20\n"
THICK = "parts.tail.thickness=1.8:2.2:0.2 mm"
COMMANDS = {
    "pick": ("pick", "tail.toml", "--vary", THICK, "--samples", "8", "--confirm", "1"),
    "tolerance": ("tolerance", "tail.toml", "--samples", "8"),
    "sweep": (
        "sweep", "tail.toml", "--vary", THICK, "--vary", "material.durometer=40:52:4 OO", "--fast",
    ),
    "measured": ("measure", "flick.csv", "weigh.csv"),
    "comparison": ("compare", "strip.toml", "flick.csv"),
    "calibration": ("calibrate", "strip.toml", "flick.csv", "weigh.csv"),
    "plan": ("plan", "strip.toml"),
}  # fmt: skip
WITH_TABLE = ("pick", "tolerance", "comparison", "calibration", "plan")


def kept(folder, title, stems=tuple(COMMANDS)):
    """Run the commands in a folder; return it."""
    for name, text in (("tail", TAIL), ("strip", STRIP)):
        (folder / f"{name}.toml").write_text(text.replace("TITLE", title), encoding="utf-8")
    (folder / "flick.csv").write_text(FLICK)
    (folder / "weigh.csv").write_text(WEIGH)
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(folder)
        for stem in stems:
            with pytest.raises(SystemExit) as caught:
                cli.main([*COMMANDS[stem], "--out", stem, "--quiet"])
            assert caught.value.code == 0
    return folder


@pytest.fixture(scope="module")
def answers(tmp_path_factory):
    return kept(tmp_path_factory.mktemp("answers"), "Own tail")


def body(answers, stem):
    return json.loads((answers / stem / f"{stem}.json").read_text(encoding="utf-8"))


def rows(answers, stem):
    with open(answers / stem / f"{stem}.csv", encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


@pytest.mark.parametrize("stem", COMMANDS)
def test_a_page_of_one_file_holds_the_verdict_first(answers, stem):
    path = answers / stem / f"{stem}.html"
    assert path.stat().st_size < MOST_BYTES
    page = Page(path.read_text(encoding="utf-8"))
    assert page.all("span")[0][1]["class"].startswith("badge")
    assert len(page.all("section")) >= 3
    assert not page.all("script")


@pytest.mark.parametrize("stem", COMMANDS)
def test_text_and_json_stand_beside_it_and_the_folder_lists_them(answers, stem):
    assert body(answers, stem)["simsoft"]
    assert (answers / stem / f"{stem}.txt").read_text(encoding="utf-8").endswith("\n")
    listed = json.loads((answers / stem / "files.json").read_text())["files"]
    assert {f"{stem}.html", f"{stem}.json", f"{stem}.txt"} <= set(listed)


@pytest.mark.parametrize("stem", WITH_TABLE)
def test_every_number_of_the_table_is_a_number(answers, stem):
    found = rows(answers, stem)
    assert found
    for row in found:
        for name, cell in row.items():
            if name in (
                "value",
                "found",
                "low",
                "high",
                "chance",
                "share_left",
                "predicted",
                "measured",
            ):
                assert cell == "" or stem == "pick" or math.isfinite(float(cell))


def test_pick_says_in_all_forms_the_same(answers):
    found = {
        (pick["path"], c["value"]): c for pick in body(answers, "pick")["picks"]
        for c in pick["candidates"]
    }  # fmt: skip
    table = rows(answers, "pick")
    assert len(table) == len(found) == 3
    page = Page((answers / "pick" / "pick.html").read_text(encoding="utf-8"))
    for row in table:
        known = found[row["key"], row["value"]]
        assert int(row["meets"]) == known["meets"]
        assert float(row["margin_half_bands"]) == known["margin_in_bands"]
        chance = known["pass_probability"]
        assert row["passed"] == ("" if chance is None else str(chance["passed"]))
        assert any(f"thickness {row['value']}" == cell[2] for cell in page.all("td"))


@pytest.mark.parametrize(("count", "folded"), [(12, False), (60, True)])
def test_a_long_list_of_designs_is_folded_away(count, folded):
    rows = [
        Candidate(f"{1 + k / 10:.1f} mm", Sample([], True, 1.0), Probability(40, 64, 0.5, 0.7))
        for k in range(count)
    ]
    axis = read_axis(f"parts.tail.thickness={','.join(c.value.split()[0] for c in rows)} mm")
    sheet = pick_sheet("own", [choose(axis, "1.0 mm", rows)], [], "mm")
    assert len(sheet.rows) == count
    told = Page(sheet_page(sheet, "", "", "now"))
    (section,) = told.all("section", id="all")
    assert ("designs, as in pick.csv" in section[2]) == folded
    assert sum("thickness 1.5 mm" in e[2] for e in told.all("td")) == 1
    assert bool(told.all("summary")[:-1]) == folded


def test_tolerance_says_in_all_forms_the_same(answers):
    known = body(answers, "tolerance")
    table = rows(answers, "tolerance")
    whole = next(row for row in table if row["name"] == "the whole brief")
    assert int(whole["passed"]) == known["pass_probability"]["passed"]
    costs = {row["name"]: float(row["value"]) for row in table if row["what"] == "costs"}
    assert costs == {cost["input"]: cost["share"] for cost in known["costs"]}


def test_sweep_map_has_a_cell_for_every_design(answers):
    page = Page((answers / "sweep" / "sweep.html").read_text(encoding="utf-8"))
    cells = [e for e in page.all("td") if e[1].get("class", "").startswith("shade")]
    assert len(cells) == len(body(answers, "sweep")["designs"]) == 12
    told = {d["design"]: d["margin_in_bands"] for d in body(answers, "sweep")["ranked"]}
    assert sorted(cell[2] for cell in cells) == sorted(f"{m:+.1f}" for m in told.values())


def test_comparison_says_in_all_forms_the_same(answers):
    (pair,) = body(answers, "comparison")["comparisons"]
    (row,) = rows(answers, "comparison")
    assert float(row["measured"]) == pair["measured"]
    assert float(row["predicted"]) == pair["predicted"]["value"]
    assert row["verdict"] == pair["verdict"]


def test_calibration_says_in_all_forms_the_same(answers):
    known = body(answers, "calibration")["profile"]
    table = {row["name"]: float(row["found"]) for row in rows(answers, "calibration")}
    assert table == {name: value["value"] for name, value in known.items()}


@pytest.mark.parametrize("stem", COMMANDS)
def test_it_reads_well_in_a_browser(visit, answers, stem):
    path = answers / stem / f"{stem}.html"
    for scheme, width in (("light", PHONE), ("dark", DESK), ("dark", PHONE)):
        page = visit(path, width=width, color_scheme=scheme)
        assert page.asked == [path.as_uri()]
        assert page.said == []
        assert page.evaluate("document.documentElement.scrollWidth") <= width
        page.evaluate("for (const d of document.querySelectorAll('details')) d.open = true")
        assert page.evaluate(LOW_CONTRAST, CONTRAST)[1] == []
    for paper in ("A4", "Letter"):
        assert 1 <= papers(page, paper) <= PAGES


def test_hostile_titles_stay_text(visit, tmp_path):
    name = HOSTILE[1]
    folder = kept(tmp_path, name, ("tolerance", "comparison", "plan"))
    for stem in ("tolerance", "comparison", "plan"):
        page = visit(folder / stem / f"{stem}.html")
        assert page.evaluate("window.broken") is None
        assert page.said == []
        assert name in page.inner_text("h1")


def picked(tmp_path, most):
    path = tmp_path / "tail.toml"
    text = TAIL.replace("TITLE", "own").replace('"46 OO"', '"46 OO"   # as poured')
    path.write_text(text.replace('at_most = "0.5 m/s"', f'at_most = "{most}"'))
    before = path.read_text()
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(tmp_path)
        words = ("--vary", THICK, "--samples", "8", "--confirm", "0", "--out", "kept")
        with pytest.raises(SystemExit) as caught:
            cli.main(["pick", "tail.toml", *words, "--write", "--quiet"])
    assert caught.value.code == 0
    found = json.loads((tmp_path / "kept" / "pick.json").read_text())["picks"][0]
    return before, path.read_text(), found


def test_pick_write_puts_the_pick_back(tmp_path):
    before, after, found = picked(tmp_path, "0.9 m/s")
    assert found["value"] is not None
    assert after == before.replace('thickness = "2 mm"', f'thickness = "{found["value"]}"', 1)


def test_pick_write_leaves_a_case_that_nothing_mends(tmp_path):
    before, after, found = picked(tmp_path, "0.01 m/s")
    assert found["value"] is None
    assert after == before
