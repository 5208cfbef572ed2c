"""The page without a browser: every number is the run's, nothing from outside, text stays text."""

import base64
import dataclasses
import hashlib
import json
import math
import re
import time

import numpy as np
import pytest
from clock import slower
from pages import HOSTILE, Page, renamed, stored, whole_lure

import simsoft
from simsoft.case.model import Seen
from simsoft.case.overrides import comment
from simsoft.design.brief import judge
from simsoft.report.html.answers import verdict_word
from simsoft.report.html.document import asset
from simsoft.report.html.page import run_page
from simsoft.report.html.scene import frames_a_beat, scene
from simsoft.report.json import as_json
from simsoft.report.text.run import summary
from simsoft.report.text.sentences import answer_groups
from simsoft.report.units import show
from simsoft.results.changes import RunChange
from simsoft.results.record import Record
from simsoft.results.result import Look

# the reader's units over SI, written down here apart from the code under test
FACTORS = {"Hz": 1.0, "mm": 1e3, "inch": 1.0 / 0.0254, "deg": 1.0, "mN": 1e3, "N mm": 1e3, "N": 1.0}
FACTORS |= {"mN mm": 1e6, "m/s": 1.0}
COLUMNS = {
    "rate": "flap_frequency",
    "stroke": "stroke",
    "fold-back": "fold_back",
    "tip angle": "tip_angle",
    "drag": "drag",
    "root moment": "root_moment",
}


@pytest.fixture
def kept(synthetic_result, tmp_path):
    """A synthetic whole lure as read back from its file."""
    return stored(whole_lure(synthetic_result), tmp_path)


def rows_of(text, region):
    """Return the cells of the table in a labelled region, row by row."""
    start = text.index(f'aria-label="{region}"')
    table = Page(text[text.index("<table", start) : text.index("</table>", start) + 8])
    body = text[text.index("<tbody", start) : text.index("</tbody>", start)]
    width = len(table.all("th"))
    cells = [e[2] for e in Page(body + "</tbody>").all("td")]
    head = [e[2] for e in table.all("th")]
    return head, [cells[i : i + width] for i in range(0, len(cells), width)]


def test_every_record_stands_on_the_page_with_all_its_digits(kept):
    told = json.loads(as_json(kept.result, simsoft.__version__))["records"]
    _, rows = rows_of(run_page(kept), "all numbers")
    assert len(rows) == len(told)
    for cells, record in zip(rows, told, strict=True):
        assert cells[:3] == [record["scenario"], record["part"], record["quantity"]]
        for cell, key in zip(cells[4:7], ("value", "low", "high"), strict=True):
            value = record[key]
            assert (
                (cell == (value or ""))
                if value is None or isinstance(value, str)
                else (json.loads(cell) == value)
            )


@pytest.mark.parametrize("unit", ["mm", "inch"])
def test_numbers_by_speed_are_those_of_the_records_rounded(synthetic_result, tmp_path, unit):
    case = dataclasses.replace(synthetic_result.case, length_unit=unit)
    result = dataclasses.replace(synthetic_result, case=case)
    head, rows = rows_of(run_page(stored(result, tmp_path)), "by speed")
    assert unit in " ".join(head)
    assert head[0] == ("speed [ft/s]" if unit == "inch" else "speed [m/s]")
    speeds = {r.at["speed"] for r in result.records if set(r.at) == {"speed"}}
    checked = 0
    for cells in rows:
        speed = float(cells[0])
        if unit == "inch":  # feet a second, and the crank of a reel that takes up 27 inches
            speed = next(s for s in speeds if float(f"{s / 0.3048:.3g}") == speed)
            assert float(cells[1]) == float(f"{10.0 * speed / (27.0 * 0.0254):.1f}")
        first = 3 if unit == "inch" else 2
        for name, cell in zip(head[first:], cells[first:], strict=True):
            quantity, _, label = name.rstrip("]").partition(" [")
            mine = [
                r
                for r in result.records
                if (r.quantity, r.part) == (COLUMNS[quantity], "tail") and r.at == {"speed": speed}
            ]
            if not mine:
                assert cell == "-"
                continue
            (record,) = mine
            if record.value is None:
                assert cell == f"none: {record.reason}"
                continue
            found = re.findall(r"-?[\d.]+", cell)
            assert len(found) == 3
            for text, value in zip(found, (record.value, record.low, record.high), strict=True):
                digits = len(text.partition(".")[2])
                assert abs(float(text) - FACTORS[label] * value) <= 0.500001 * 10.0**-digits
                checked += 1
    assert checked >= 18


def test_brief_says_what_was_found_and_by_how_much(kept):
    findings = judge(kept.result.case, kept.result.records, banded=True)
    told = Page(run_page(kept))
    cells = [e[2] for e in told.all("td") if "data-label" in e[1]]
    assert len(cells) == 4 * len(findings)
    for i, finding in enumerate(findings):
        wanted, found, margin, verdict = cells[4 * i : 4 * i + 4]
        assert wanted.startswith(finding.clause.name)
        assert found == show(finding.record)
        assert verdict.startswith(finding.verdict)
        if finding.margin is None:
            assert margin == "-"
        else:
            assert ("inside" in margin) == (finding.margin >= 0.0)


def test_verdict_comes_first(kept):
    told = Page(run_page(kept))
    verdict = verdict_word(
        judge(kept.result.case, kept.result.records, banded=True), kept.result.records
    )
    assert told.all("title")[0][2].startswith(verdict)
    assert told.text("h1").startswith(verdict)


def test_nothing_comes_from_outside(kept):
    text = run_page(kept)
    told = Page(text)
    assert not {e[0] for e in told.elements} & {"link", "img", "iframe", "object", "base", "a"}
    for _, attributes, _ in told.elements:
        assert not set(attributes) & {"src", "href", "srcset", "action", "style"}
        assert not [name for name in attributes if name.startswith("on")]
    addresses = set(re.findall(r"(?:https?:)?//[^\s\"'<]+", re.sub(r"//[ ].*", "", text)))
    assert addresses == {"http://www.w3.org/2000/svg"}  # a name, not fetched
    assert "url(" not in text
    assert "@import" not in text


def test_content_policy_allows_the_pages_own_style_and_script_alone(kept):
    told = Page(run_page(kept))
    (meta,) = told.all("meta", **{"http-equiv": "Content-Security-Policy"})
    policy = dict(
        part.strip().split(" ", 1) for part in meta[1]["content"].split(";") if part.strip()
    )
    assert policy["default-src"] == "'none'"
    for kind, element in (
        ("style-src", told.all("style")),
        ("script-src", told.all("script")[-1:]),
    ):
        digest = base64.b64encode(hashlib.sha256(element[0][2].encode()).digest()).decode()
        assert policy[kind] == f"'sha256-{digest}'"
    running = [e for e in told.all("script") if e[1].get("type") != "application/json"]
    assert len(running) == 1


@pytest.mark.parametrize("name", HOSTILE)
def test_hostile_names_stay_text(synthetic_result, tmp_path, name):
    plain = Page(run_page(stored(renamed(synthetic_result, "plain"), tmp_path)))
    hostile = Page(run_page(stored(renamed(synthetic_result, name), tmp_path)))
    assert [e[0] for e in hostile.elements] == [e[0] for e in plain.elements]
    assert [sorted(e[1]) for e in hostile.elements] == [sorted(e[1]) for e in plain.elements]
    shown = "".join(c if c.isprintable() else " " for c in name)
    assert shown in hostile.text("h1")
    assert "\u202e" not in hostile.text("body")


def test_data_blocks_are_json_that_cannot_end_its_element(synthetic_result, tmp_path):
    told = Page(run_page(stored(renamed(synthetic_result, HOSTILE[0]), tmp_path)))
    text = told.text("script", id="scene")
    assert "<" not in text
    assert json.loads(text)["sets"][0]["parts"][0]["name"] == HOSTILE[0]


def test_the_same_run_gives_the_same_page(kept, tmp_path):
    assert run_page(kept) == run_page(kept)
    again = stored(kept.result, tmp_path)._replace(created=kept.created)
    assert run_page(again) == run_page(kept)


def test_page_reads_without_script(kept):
    told = Page(run_page(kept))
    (still,) = told.all("figure", id="still")
    assert "hidden" not in still[1]
    assert "From the side" in still[2]
    (viewer,) = told.all("div", id="viewer")
    assert "hidden" in viewer[1]
    assert len(told.all("svg")) >= 5


def test_everything_to_see_or_to_move_has_a_name(kept):
    told = Page(run_page(kept))
    for element in told.all("svg"):
        assert element[1].get("aria-hidden") == "true" or element[1]["aria-label"]
    ids = [e[1]["id"] for e in told.elements if "id" in e[1]]
    assert len(ids) == len(set(ids))
    for section in told.all("section"):
        assert section[1]["aria-labelledby"] in ids
    assert told.all("html")[0][1]["lang"] == "en"


def test_warnings_stand_beside_the_answer_they_are_about(synthetic_result, tmp_path):
    warnings = ("tail at 0.3 m/s: not settled", "the case is odd")
    result = dataclasses.replace(synthetic_result, warnings=warnings)
    text = run_page(stored(result, tmp_path))
    blocks = [e[2] for e in Page(text).all("div", class_="answer")]
    about = [block for block in blocks if "not settled" in block]
    assert len(about) == 1
    assert about[0].startswith("stream: tail kicks")
    assert "the case is odd" not in "".join(blocks)
    assert "the case is odd" in Page(text).text("section", id="answer")


def test_beats_of_the_picture_are_those_of_the_records(kept):
    drawn = scene(kept.result)
    rates = {
        r.at["speed"]: r.value
        for r in kept.result.records
        if r.quantity == "flap_frequency" and r.value is not None and r.part == "tail"
    }
    for trace, part in zip(
        kept.result.traces, (s["parts"][0] for s in drawn["sets"]), strict=False
    ):
        assert part["period"] == 1.0 / rates[trace.speed]
        assert len(part["frames"]) == frames_a_beat(trace, part["period"])
        places = np.array(part["frames"][0], dtype=float).reshape(-1, 3)
        assert np.allclose(1e-5 * places[0], trace.edges[0, 0, 0] + trace.root, atol=6e-6)


def test_a_frame_that_closes_the_beat_is_left_out(kept):
    trace = kept.result.traces[0]
    count = len(trace.strobe)
    period = float(trace.strobe_time[-1] - trace.strobe_time[0])
    assert frames_a_beat(trace, period * (1.0 + 1e-3)) == count - 1
    assert frames_a_beat(trace, period * count / (count - 1)) == count
    assert frames_a_beat(trace, 0.0) == 1


def test_pairs_are_told_once(synthetic_result, tmp_path):
    both = []
    for record in synthetic_result.records:
        if record.part == "tail":
            both += [dataclasses.replace(record, part=f"tail/{side}") for side in ("left", "right")]
    result = dataclasses.replace(synthetic_result, records=tuple(both), traces=(), shapes=())
    shown = answer_groups(result)
    assert [group.names for group in shown] == [("tail/left", "tail/right")]
    assert shown[0].lead.startswith("stream: each tail kicks from")
    assert run_page(stored(result, tmp_path)).count("each tail kicks from") == 1


def test_paddle_moves_in_the_page_of_a_real_run(paddle_run, tmp_path):
    told = Page(run_page(stored(paddle_run, tmp_path)))
    drawn = json.loads(told.text("script", id="scene"))
    moving = [p for s in drawn["sets"] for p in s["parts"] if p["period"] > 0.0]
    assert moving
    widest = max(
        np.ptp(np.array(p["paddles"], dtype=float).reshape(len(p["paddles"]), -1, 3)[:, 0, 1])
        for p in moving
    )
    assert widest > 10  # hundredths of a millimetre
    rim = 1e-5 * np.array(moving[0]["paddles"][0]).reshape(-1, 3)
    radius = np.linalg.norm(rim - 0.5 * (rim.min(axis=0) + rim.max(axis=0)), axis=1)
    assert radius == pytest.approx(0.5 * paddle_run.case.parts[0].paddle.width, rel=0.02)


def test_page_stays_small(paddle_run, tmp_path):
    assert len(run_page(stored(paddle_run, tmp_path)).encode()) < 500_000


def test_scripts_use_no_network_and_no_markup():
    for name in ("space.js", "viewer.js", "sliders.js"):
        text = asset(name)
        for word in ("innerHTML", "eval(", "fetch(", "XMLHttp", "import(", "document.write"):
            assert word not in text


@pytest.mark.parametrize(("model", "longest"), [("plate", 0.5), ("rod", 3.0)])
def test_writing_the_page_takes_little_time(synthetic_result, tmp_path, model, longest):
    tail, leg = synthetic_result.case.parts
    tail = dataclasses.replace(tail, model=model)
    case = dataclasses.replace(synthetic_result.case, parts=(tail, leg))
    kept = stored(dataclasses.replace(synthetic_result, case=case), tmp_path)
    run_page(kept)  # compiled and imported
    begun = time.process_time()
    run_page(kept)
    assert time.process_time() - begun < longest * slower()  # [s] of a usual processor


def test_a_run_of_another_version_has_no_sliders(synthetic_result, tmp_path):
    tail, leg = synthetic_result.case.parts
    tail = dataclasses.replace(tail, loads=dataclasses.replace(tail.loads, rim_force=3.0))
    case = dataclasses.replace(synthetic_result.case, parts=(tail, leg))
    kept = stored(dataclasses.replace(synthetic_result, case=case), tmp_path)
    assert "What if" in run_page(kept)
    older = kept._replace(versions={**kept.versions, "simsoft": "0.0.1"})
    assert "What if" not in run_page(older)


def test_inch_users_meet_inches_and_feet_a_second(synthetic_result, tmp_path):
    """On the page, but for the stored numbers and the case, and on the terminal."""
    case = dataclasses.replace(synthetic_result.case, length_unit="inch", text="", title="own")
    result = whole_lure(dataclasses.replace(synthetic_result, case=case, warnings=()))
    case = dataclasses.replace(result.case, brief=())
    result = dataclasses.replace(result, case=case)
    text = run_page(stored(result, tmp_path))
    front = Page(text.partition('<section id="behind"')[0] + "</main></body></html>")
    told = [e[2] for e in front.elements if e[0] in ("p", "td", "th", "li", "text", "figcaption")]
    for words in (" ".join(told), summary(result)):
        assert "ft/s" in words
        assert "inch" in words
        assert not re.findall(r"[^ ]* ?(?:m/s|\d mm|\[mm\])", words)


def test_what_was_seen_of_the_bait_stands_on_the_page(synthetic_result, tmp_path):
    assert 'id="seen"' not in run_page(stored(synthetic_result, tmp_path))
    start = next(r for r in synthetic_result.records if r.quantity == "start_speed")
    after = dataclasses.replace(start, value=0.3, low=0.27, high=0.33)
    look = Look(Seen("start_speed", 0.31, 0.1), "tail", "used", 0.4, "", start, after)
    run = dataclasses.replace(synthetic_result, looks=(look,), narrowed=(("durometer", 0.6),))
    told = Page(run_page(stored(run, tmp_path))).text("section", id="seen")
    assert "tail start speed 0.31 m/s (give or take 10 %)" in told
    assert "with it 0.30 m/s (0.27 to 0.33)" in told
    assert "Narrowed: durometer to 60 % of its doubt." in told


def test_what_a_change_does_stands_on_the_page_and_in_the_file(synthetic_result, tmp_path):
    start = next(r for r in synthetic_result.records if r.quantity == "start_speed")
    rate = next(
        r
        for r in synthetic_result.records
        if r.quantity == "flap_frequency" and r.value is not None
    )
    slower = dataclasses.replace(start, value=0.8 * start.value)
    changes = (
        RunChange(start, slower, math.log(0.8), 0.02, 0.3),
        RunChange(rate, rate, math.log(1.1), 0.05, 0.06),
    )
    text = f"{synthetic_result.case.text}{comment('parts.tail.thickness=1.8 mm')}\n"
    case = dataclasses.replace(synthetic_result.case, text=text)
    kept = stored(dataclasses.replace(synthetic_result, case=case, changes=changes), tmp_path)
    assert kept.result.changes == changes
    told = Page(run_page(kept)).text("section", id="changed")
    assert "Set: parts.tail.thickness=1.8 mm." in told
    assert f"tail start speed{show(start)}{show(slower)}-20 % (-22 to -18)" in told
    assert f"tail rate at 0.3 m/s{show(rate)}{show(rate)}+10 % (+5 to +16)" in told
    assert 'id="changed"' not in run_page(stored(synthetic_result, tmp_path))


def test_the_sweep_from_edge_to_edge_stands_in_the_table_by_speed(synthetic_result, tmp_path):
    wide = Record(
        "stream", "tail", "edge_to_edge", 0.021, 0.018, 0.03, "m", "screening", {"speed": 0.3}
    )
    run = dataclasses.replace(synthetic_result, records=(*synthetic_result.records, wide))
    head, rows = rows_of(run_page(stored(run, tmp_path)), "by speed")
    place = next(n for n, name in enumerate(head) if "[mm]" in name and "stroke" not in name)
    assert "edge" in head[place]
    assert [row[place] for row in rows] == ["-", "21 (18 to 30)", "-"]
