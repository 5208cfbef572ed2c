"""The page in a real browser: it moves, turns, slides, prints, keeps quiet and asks for nothing."""

import dataclasses
import json
import re
from itertools import product
from pathlib import Path

import pytest
from browser import CONTRAST, DESK, LOW_CONTRAST, MOST_BYTES, PAGES, PHONE, papers
from clock import slower
from pages import HOSTILE, SHEDDING, renamed, stored, whole_lure

from simsoft import __version__
from simsoft.case.read import load
from simsoft.case.wishes import Clause
from simsoft.design.brief import judge
from simsoft.design.sweep.screening import screening_records
from simsoft.engine.run import run
from simsoft.report.html.answers import verdict_word
from simsoft.report.html.page import write_page
from simsoft.report.html.scene import scene
from simsoft.report.json import as_json
from simsoft.results.record import select
from simsoft.scenarios.screening import MARCH_IT

FRAMES = 40  # in a second
LEAST_DRAWN = 21
MIDDLE = "window.drawn.slice().sort((a, b) => a - b)[Math.floor(window.drawn.length / 2)]"
PICTURE = "() => document.querySelector('#viewer canvas').toDataURL()"
ALL_OPEN = "for (const d of document.querySelectorAll('details')) d.open = true"
CELLS = (
    "() => Array.from(document.querySelectorAll('#numbers tbody tr'),"
    " (row) => Array.from(row.cells, (cell) => cell.textContent))"
)
# twenty pictures more, and time for each to be drawn anew
FRAMES_PASS = """
async () => {
  for (let i = 0; i < 20; i++)
    await new Promise((done) => requestAnimationFrame(() => setTimeout(done, 10)));
}
"""


@pytest.fixture
def lure_file(synthetic_result, tmp_path):
    """The page of a synthetic whole lure."""
    return write_page(stored(whole_lure(synthetic_result), tmp_path), tmp_path)


@pytest.fixture(scope="module")
def paddle_file(paddle_run, tmp_path_factory):
    """The page of the demo paddle in a wake that drives it."""
    folder = tmp_path_factory.mktemp("paddle")
    return write_page(stored(paddle_run, folder), folder)


def test_it_asks_for_itself_alone_and_says_nothing(visit, lure_file):
    page = visit(lure_file)
    page.wait_for_timeout(300)
    assert page.asked == [lure_file.as_uri()]
    assert page.said == []


def test_its_policy_stops_a_script_of_anyone_else(visit, lure_file):
    page = visit(lure_file)
    page.evaluate(
        "() => { const s = document.createElement('script'); s.textContent = 'window.broken = 1';"
        " document.body.append(s); }"
    )
    assert page.evaluate("window.broken") is None
    assert any("Content Security Policy" in line for line in page.said)


@pytest.mark.parametrize("name", HOSTILE)
def test_hostile_names_run_nothing(visit, synthetic_result, tmp_path, name):
    path = write_page(stored(renamed(synthetic_result, name), tmp_path), tmp_path)
    page = visit(path)
    page.wait_for_timeout(100)
    assert page.evaluate("window.broken") is None
    assert page.said == []
    shown = " ".join("".join(c if c.isprintable() else " " for c in name).split())
    assert shown in page.inner_text("h1")


def read_out(page):
    """Return the texts of the accessibility tree in order."""
    tree = page.context.new_cdp_session(page).send("Accessibility.getFullAXTree")["nodes"]
    texts = [n["name"]["value"] for n in tree if n.get("role", {}).get("value") == "StaticText"]
    return [text.strip() for text in texts if text.strip()]


def test_verdict_is_the_first_thing_read_out(visit, lure_file):
    page = visit(lure_file)
    badge = page.inner_text("h1 .badge").lower()
    assert read_out(page)[0].lower() == badge
    assert badge in ("go", "marginal", "no-go")


def test_controls_have_names(visit, paddle_file):
    page = visit(paddle_file)
    tree = page.context.new_cdp_session(page).send("Accessibility.getFullAXTree")["nodes"]
    roles = {"button", "slider", "combobox", "image", "region"}
    seen = [n for n in tree if not n["ignored"] and n.get("role", {}).get("value") in roles]
    assert len(seen) >= 12
    assert not [n for n in seen if not n.get("name", {}).get("value")]


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_text_stands_out_from_its_ground(visit, paddle_file, scheme):
    page = visit(paddle_file, color_scheme=scheme)
    page.evaluate(ALL_OPEN)
    seen, low = page.evaluate(LOW_CONTRAST, CONTRAST)
    assert seen > 500
    assert low == []


def test_contrast_is_measured(visit, lure_file):
    page = visit(lure_file)
    assert page.evaluate(LOW_CONTRAST, 21.5)[1]


@pytest.mark.parametrize("width", [PHONE, DESK])
def test_nothing_hangs_over_the_edge(visit, lure_file, paddle_file, width):
    for path in (lure_file, paddle_file):
        page = visit(path, width=width)
        assert page.evaluate("document.documentElement.scrollWidth") <= width


def frames_a_second(page):
    """Return how many pictures a second the page's own drawing leaves time for.

    The middle of the first pictures counts, put right for a slow machine: how many pictures
    really pass depends on the other jobs on it.
    """
    page.wait_for_function("(least) => window.drawn.length >= least", arg=LEAST_DRAWN)
    return 1000 * slower() / max(page.evaluate(MIDDLE), 1e-3)


def test_it_moves_smoothly(visit, paddle_file):
    assert frames_a_second(visit(paddle_file)) >= FRAMES


def test_it_is_paused_and_played_again(visit, paddle_file):
    page = visit(paddle_file)
    page.get_by_role("button", name="Pause").click()
    first = page.evaluate(PICTURE)
    page.evaluate(FRAMES_PASS)
    assert page.evaluate(PICTURE) == first
    page.get_by_role("button", name="Play").click()
    page.wait_for_function(f"(first) => ({PICTURE})() !== first", arg=first)


def test_those_who_want_no_motion_get_none(visit, paddle_file):
    page = visit(paddle_file, reduced_motion="reduce")
    first = page.evaluate(PICTURE)
    page.evaluate(FRAMES_PASS)
    assert page.evaluate(PICTURE) == first
    assert page.get_by_role("button", name="Play").is_visible()


def test_it_turns_by_mouse_and_by_keys(visit, lure_file):
    page = visit(lure_file, reduced_motion="reduce")
    canvas = page.locator("#viewer canvas")
    canvas.scroll_into_view_if_needed()
    seen = [page.evaluate(PICTURE)]
    box = canvas.bounding_box()
    middle = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    page.mouse.move(*middle)
    page.mouse.down()
    page.mouse.move(middle[0] + 60, middle[1] + 20, steps=3)
    page.mouse.up()
    seen.append(page.evaluate(PICTURE))
    canvas.focus()
    page.keyboard.press("ArrowLeft")
    seen.append(page.evaluate(PICTURE))
    for name in ("Side", "Top", "3-D"):
        page.get_by_role("button", name=name, exact=True).click()
        seen.append(page.evaluate(PICTURE))
    assert len(set(seen[:-1])) == len(seen) - 1
    assert seen[-1] == seen[0]


def test_every_speed_can_be_looked_at(visit, paddle_file):
    page = visit(paddle_file, reduced_motion="reduce")
    chooser = page.get_by_label("scenario and speed")
    names = chooser.locator("option").all_inner_texts()
    told = set()
    for name in names:
        chooser.select_option(label=name)
        told.add(page.locator("#viewer canvas").get_attribute("aria-label"))
    assert len(names) >= 4
    assert len(told) == len(names)


def test_sliders_say_what_the_screening_solver_says(visit, paddle_file):
    page = visit(paddle_file)
    known = json.loads(page.locator("#designs").text_content())
    places = [0, 1, 2, len(known["axes"][3]["told"]) - 1]
    for number, place in enumerate(places):
        page.locator(f"#slider-{number}").fill(str(place))
    told = [known["axes"][i]["told"][place] for i, place in enumerate(places)]
    assert page.locator(".knobs output").all_inner_texts() == told
    case = load(
        "cases/paddle_100.toml",
        (
            *SHEDDING,
            f"parts.tail.thickness={told[0]}",
            f"material.durometer={told[1]}",
            f"parts.tail.paddle_offset={told[2]}",
            f"water.temperature={told[3]}",
        ),
    )
    records = screening_records(case)
    (start,) = select(records, "start_speed")
    lead = page.inner_text("#slid .lead")
    if start.value is None:
        assert str(start.reason) in lead
    else:
        assert float(re.findall(r"[\d.]+", lead)[0]) == float(f"{start.value:.3g}")
    rows = [row.split("\t") for row in page.locator("#slid tbody tr").all_inner_texts()]
    assert len(rows) == 4
    for speed, word, *numbers in rows:
        at = {"speed": float(speed)}
        verdict = select(records, "verdict", **at)[0]
        beats = "beats" if verdict.reason == MARCH_IT else "not told"
        assert word == (verdict.value or beats)
        factors = {"flap_frequency": 1.0, "stroke": 1e3, "fold_back": 1.0}
        for (quantity, factor), number in zip(factors.items(), numbers, strict=True):
            value = select(records, quantity, **at)[0].value
            told_as = "-" if value is None else float(f"{factor * value:.2g}")
            assert (number if value is None else float(number)) == told_as


def test_sliders_do_not_judge_what_screening_does_not_tell(visit, paddle_file):
    page = visit(paddle_file)
    rows = [row.split("\t") for row in page.locator("#slid tbody tr").all_inner_texts()]
    stroke = {row[0]: row[3] for row in rows}["0.6"]
    told = page.inner_text("#slid")
    assert ("does not tell stroke" in told) == (stroke == "-")
    assert stroke != "-" or "misses stroke" not in told


def test_sliders_leave_a_wished_width_to_the_march(visit, paddle_run, tmp_path):
    wish = Clause("width", "edge_to_edge", "m", at_least=0.02, speed=0.6)
    case = dataclasses.replace(paddle_run.case, brief=(wish,))
    page = visit(write_page(stored(dataclasses.replace(paddle_run, case=case), tmp_path), tmp_path))
    assert "does not tell width" in page.inner_text("#slid")
    assert page.said == []


def test_sliders_go_back_to_the_case(visit, paddle_file):
    page = visit(paddle_file)
    first = page.inner_text("#slid")
    page.locator("#slider-0").fill("0")
    assert page.inner_text("#slid") != first
    page.get_by_role("button", name="Back to the case's own values").click()
    assert page.inner_text("#slid") == first


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_it_prints_on_few_pages(visit, lure_file, paddle_file, paper):
    for path in (lure_file, paddle_file):
        page = visit(path, color_scheme="dark")
        assert 1 <= papers(page, paper) <= PAGES


def test_it_reads_without_a_script(visit, paddle_file):
    page = visit(paddle_file, java_script_enabled=False)
    assert page.locator("#still svg").is_visible()
    assert not page.locator("#viewer").is_visible()
    assert not page.locator("#sliders-live").is_visible()
    assert "need a script" in page.inner_text("#sliders")
    page.locator("summary", has_text="All numbers").click()
    assert page.locator("#numbers tr").count() > 50


def test_with_a_script_the_still_picture_makes_room(visit, paddle_file):
    page = visit(paddle_file)
    assert not page.locator("#still").is_visible()
    assert page.locator("#viewer canvas").is_visible()


@pytest.mark.slow
@pytest.mark.parametrize("case", sorted(Path("cases").glob("*.toml")), ids=lambda path: path.stem)
def test_pages_of_all_demo_cases(visit, case, tmp_path):
    kept = stored(run(load(case), bands=False), tmp_path)
    path = write_page(kept, tmp_path)
    assert path.stat().st_size < MOST_BYTES
    for scheme, width in product(("light", "dark"), (PHONE, DESK)):
        page = visit(path, width=width, color_scheme=scheme, reduced_motion="reduce")
        page.evaluate(ALL_OPEN)
        assert page.evaluate("document.documentElement.scrollWidth") <= width
        assert page.evaluate(LOW_CONTRAST, CONTRAST)[1] == []
        first = page.evaluate(PICTURE)
        page.evaluate(FRAMES_PASS)
        assert page.evaluate(PICTURE) == first
        assert page.asked == [path.as_uri()]
        assert page.said == []
    verdict = verdict_word(
        judge(kept.result.case, kept.result.records, banded=True), kept.result.records
    )
    assert read_out(page)[0].lower() == verdict.lower()
    told = json.loads(as_json(kept.result, __version__))["records"]
    rows = page.evaluate(CELLS)
    assert len(rows) == len(told)
    for cells, record in zip(rows, told, strict=True):
        assert cells[:3] == [record["scenario"], record["part"], record["quantity"]]
        for cell, key in zip(cells[4:7], ("value", "low", "high"), strict=True):
            value = record[key]
            plain = value is None or isinstance(value, str)
            assert cell == (value or "") if plain else json.loads(cell) == value
    page = visit(path)
    for paper in ("A4", "Letter"):
        assert 1 <= papers(page, paper) <= PAGES
    if any(part["period"] for still in scene(kept.result)["sets"] for part in still["parts"]):
        assert frames_a_second(visit(path)) >= FRAMES
