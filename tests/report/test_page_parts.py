"""The pieces of the page: markup that escapes, charts that plot what they say, paths joined up."""

import dataclasses
import json
import re

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from pages import BRIEF, Page, whole_lure

from simsoft.case.model import BodyInput, HookInput, RigInput, Taper
from simsoft.case.read import load
from simsoft.case.wishes import Clause
from simsoft.design.brief import judge
from simsoft.engine.run import run
from simsoft.report.html.charts import charts, numbers
from simsoft.report.html.hook import hook_figures
from simsoft.report.html.markup import Html, data, tag, text
from simsoft.report.html.moves import cast_tables, motion_figures
from simsoft.report.html.plot import ticks
from simsoft.report.html.scene import scene
from simsoft.results.record import Record, select
from simsoft.results.result import Motion, RunResult


@given(st.text(), st.text())
def test_any_text_comes_back_as_text(words, attribute):
    told = Page(tag("p", words, title=attribute))
    ((name, attributes, inside),) = told.elements
    shown = ["".join(c if c.isprintable() else " " for c in x) for x in (words, attribute)]
    assert (name, inside, attributes["title"]) == ("p", *shown)


@given(st.recursive(st.text() | st.integers() | st.none(), st.lists, max_leaves=6))
def test_any_data_comes_back_as_data(value):
    markup = data("x", value)
    assert json.loads(Page(markup).text("script", id="x")) == value
    assert not re.search(r"[<>&]", markup.split(">", 1)[1].rsplit("<", 1)[0])


def test_markup_is_kept_and_text_is_not():
    assert tag("b", tag("i", "<x>")) == "<b><i>&lt;x&gt;</i></b>"
    assert isinstance(text("a"), Html)
    assert tag("br") == "<br/>"
    assert tag("p", "", hidden=True, id=None) == "<p hidden></p>"


@given(st.floats(-1e3, 1e3), st.floats(1e-3, 1e3))
def test_ticks_are_round_few_and_inside(low, width):
    found = ticks(low, low + width)
    assert 2 <= len(found) <= 8 or width < 1e-6 * abs(low)
    assert all(low - 1e-6 * width - 1e-11 <= x <= low + width * (1 + 1e-6) + 1e-11 for x in found)


def scale_of(told, class_, axis):
    """Return what turns places into numbers, from the tick labels of a chart."""
    marks = [e for e in told.all("text", class_=class_) if re.fullmatch(r"-?[\d.e-]+", e[2])]
    place = [float(e[1][axis]) for e in marks]
    slope, offset = np.polyfit(place, [float(e[2]) for e in marks], 1)
    return lambda x: slope * float(x) + offset


FACTORS = {"flap_frequency": 1.0, "stroke": 1e3, "fold_back": 1.0}


def test_dots_stand_where_their_numbers_are(synthetic_result):
    mine = [r for r in synthetic_result.records if r.part == "tail"]
    figures = re.findall(r"<svg.*?</svg>", charts(mine, (), "tail", "mm"))
    assert len(figures) == len(FACTORS)
    for (quantity, factor), figure in zip(FACTORS.items(), figures, strict=True):
        told = Page(figure)
        across, up = scale_of(told, "mid", "x"), scale_of(told, "end", "y")
        column = numbers(mine, quantity)
        dots = told.all("circle")
        assert len(dots) == len(column)
        height = up(26) - up(184)  # of the axes, in the chart's unit
        for record, dot in zip(column, dots, strict=True):
            assert across(dot[1]["cx"]) == pytest.approx(record.at["speed"], abs=0.003)
            assert up(dot[1]["cy"]) == pytest.approx(factor * record.value, abs=0.003 * height)


def test_a_briefs_box_stands_between_its_limits(synthetic_result):
    result = whole_lure(synthetic_result)
    mine = [r for r in result.records if r.part == "tail"]
    findings = judge(result.case, result.records, banded=True)
    figure = re.findall(r"<svg.*?</svg>", charts(mine, findings, "tail", "mm"))[0]
    told = Page(figure)
    up, across = scale_of(told, "end", "y"), scale_of(told, "mid", "x")
    clause = BRIEF[1]
    boxes = [e[1] for e in told.all("rect", class_="wish")]
    (box,) = [b for b in boxes if float(b["height"]) > 10.0]
    top, bottom = float(box["y"]), float(box["y"]) + float(box["height"])
    assert up(top) == pytest.approx(clause.at_most, abs=0.05)
    assert up(bottom) == pytest.approx(clause.at_least, abs=0.05)
    assert across(float(box["x"]) + 0.5 * float(box["width"])) == pytest.approx(0.5, abs=0.02)


def test_the_width_from_edge_to_edge_has_its_chart_and_its_box(synthetic_result):
    width = (
        record("edge_to_edge", 0.3, (0.02, 0.017, 0.024)),
        record("edge_to_edge", 0.5, (0.026, 0.02, 0.033)),
    )
    mine = [*(r for r in synthetic_result.records if r.part == "tail"), *width]
    clause = Clause("width", "edge_to_edge", "m", at_least=0.018, at_most=0.03)
    findings = judge(dataclasses.replace(synthetic_result.case, brief=(clause,)), mine, banded=True)
    figures = re.findall(r"<svg.*?</svg>", charts(mine, findings, "tail", "mm"))
    (figure,) = [f for f in figures if "Edge to edge [mm]" in f]
    told = Page(figure)
    up = scale_of(told, "end", "y")
    assert [up(dot[1]["cy"]) for dot in told.all("circle")] == pytest.approx([20, 26], abs=0.1)
    (box,) = [e[1] for e in told.all("rect", class_="wish") if float(e[1]["height"]) > 10.0]
    ends = float(box["y"]) + float(box["height"]), float(box["y"])
    assert [up(end) for end in ends] == pytest.approx([18, 30], abs=0.1)


def record(quantity, speed, band):
    return Record("stream", "tail", quantity, *band, "m", "march of a paddle", {"speed": speed})


def test_nothing_to_draw_is_no_chart(synthetic_result):
    legs = [r for r in synthetic_result.records if r.part == "leg"]
    assert charts(legs, (), "leg", "mm") is None


def worm(result):
    """Return a run with the fall of a worm that is stiff over its first half."""
    time = np.linspace(0.0, 0.5, 6)
    x = np.linspace(0.055, 0.1, 10)
    nodes = np.zeros((6, 10, 3))
    nodes[:, :, 0] = x
    nodes[:, :, 2] = -0.1 * time[:, None]
    path = np.outer(time, [0.0, 0.0, -0.1])
    outline = np.array([[0.0, 0.004], [0.05, 0.005], [0.05, -0.005], [0.0, -0.004]])
    motion = Motion(
        "fall", "fall", 0.0, time, path, np.tile(np.eye(3), (6, 1, 1)), path, 0 * time, 0 * time,
        0 * path, np.zeros((0, 3)), ("body/back",), (0, 10), nodes, outline, (0.2, 0.5), "", {}, 0,
    )  # fmt: skip
    body = BodyInput("worm", 0.1, Taper((0.0, 1.0), (0.01, 0.01)), Taper((0.0, 1.0), (0.01, 0.01)))
    hook = HookInput(0.001, ((0.0, 0.0, 0.0), (0.05, 0.0, 0.0)))
    case = result.case.__class__(
        **{**vars(result.case), "body": body, "rig": RigInput(hook), "parts": ()}
    )
    return RunResult(case=case, records=(), motions=(motion,))


def test_a_worm_is_drawn_whole(synthetic_result):
    (figure,) = motion_figures(worm(synthetic_result))
    lines = [
        np.array([[float(x) for x in p.split(",")] for p in e[1]["points"].split()])
        for e in Page(figure).all("polyline")
    ]
    assert len(lines) % 2 == 0
    for stiff, soft in zip(lines[::2], lines[1::2], strict=True):
        gap = np.abs(soft[:, None] - stiff[None]).max(axis=2).min()
        assert gap < 1.0  # of hundreds of dots
        long, thick = np.ptp(soft, axis=0)
        assert thick == pytest.approx(0.2 * long, rel=0.05)  # 10 mm of 50 mm


def test_the_gap_to_the_hook_is_drawn_with_its_size(synthetic_result):
    result = whole_lure(synthetic_result)
    (figure,) = hook_figures(result, scene(result))
    told = Page(figure)
    assert [e[2] for e in told.all("text", class_="gap-name")] == ["3.1 mm"] * 2
    assert "clears the bend by 3.1 mm" in told.text("figcaption")
    assert len(told.all("polyline", class_="hook")) == 2


def test_casts_are_told_as_the_records_have_them():
    result = run(load("cases/flatside_60.toml"), bands=False)
    table, caution = cast_tables(result)
    assert "eye protection" in caution
    cells = [e[2] for e in Page(table).all("td")]
    reaches = [r for r in select(result.records, "cast_distance") if "attitude" not in r.at]
    assert len(cells) == 5 * len(reaches)
    for row, record in enumerate(reaches):
        assert cells[5 * row + 1] == f"{record.value:.0f} m"


def test_the_band_of_a_single_number_is_seen(synthetic_result):
    """A band needs no second speed: the only rate of a part has its bar."""
    mine = [
        r
        for r in synthetic_result.records
        if r.part == "tail" and (r.quantity, r.at.get("speed")) != ("flap_frequency", 0.3)
    ]
    rate, *others = re.findall(r"<svg.*?</svg>", charts(mine, (), "tail", "mm"))
    assert rate.count('class="span line"') == 1
    assert not [figure for figure in others if "span line" in figure]
