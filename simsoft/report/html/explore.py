"""The page that explores a case: knobs, and what the solver behind the page says of them."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from simsoft.design.brief import Finding, summed
from simsoft.design.explore import Knob, Prediction
from simsoft.design.screened import BEATS, only_beats
from simsoft.report.html.document import asset, credits, document, page_section
from simsoft.report.html.markup import Html, data, joined, tag
from simsoft.report.text.brief import clause_name, margin_text, wish_text
from simsoft.report.units import LengthUnit, show, speed_text, told_in
from simsoft.results.hdf5 import package_versions
from simsoft.results.record import COARSE, Record, is_upper_bound, select, why_untrusted

SCRIPT = "explore.js"
SHOWN = (("verdict", "what it does"), ("flap_frequency", "rate"), ("stroke", "stroke"),
         ("edge_to_edge", "edge to edge"), ("fold_back", "fold-back"))  # fmt: skip
OF_A_MARCH = ("edge_to_edge",)  # shown only where it is known
WHOLE = ("sink_rate", "attitude", "cast_distance", "mass", "net_weight")


def explore_page(title: str, knobs: Sequence[Knob], token: str) -> str:
    """Return the page as HTML.

    Parameters
    ----------
    title : str, of the case
    knobs : sequence of Knob
    token : str, which the page sends with everything that it asks
    """
    rows = [_row(place, knob) for place, knob in enumerate(knobs)]
    buttons = [
        tag("button", "With bands", type="button", id="bands"),
        tag("button", "March", type="button", id="march"),
        tag("button", "Keep as case", type="button", id="keep"),
        tag("button", "Back to the case", type="button", id="back"),
    ]
    told = tag("div", id="told", aria_live="polite")
    form = tag("div", tag("div", rows, class_="knobs"), told, class_="sliders")
    note = tag(
        "p",
        "Numbers follow the knobs by the screening solver, middle values without bands; "
        "March follows the beat in time, With bands moves every uncertain input as well.",
    )
    sections: list[Html] = [
        page_section("knobs", "Turn and see", note, form, tag("div", buttons, class_="controls")),
        data("explore", {"token": token, "knobs": [knob._asdict() for knob in knobs]}),
    ]
    return document(
        f"explore: {title}",
        joined(tag("span", "explore", class_="badge", id="verdict"), " ", title),
        "This page lives as long as the command that serves it: Ctrl-C there, or close the tab.",
        sections,
        credits(package_versions(), "Served on this machine alone."),
        asset(SCRIPT),
        asks=True,
    )


def _row(place: int, knob: Knob) -> Html:
    name = f"knob-{place}"
    label = knob.path.removeprefix("parts.").replace("_", " ").replace(".", " ")
    return tag(
        "p",
        tag("label", label, for_=name),
        tag(
            "input",
            type="range",
            id=name,
            min=f"{knob.low:.9g}",
            max=f"{knob.high:.9g}",
            step=f"{knob.step:.9g}",
            value=f"{knob.value:.9g}",
        ),
        tag("output", f"{knob.value:g} {knob.unit}", for_=name),
    )


def answer_data(answer: Prediction) -> dict[str, Any]:
    """Return an answer as plain data: words for the page, every number with its unit."""
    unit = answer.case.length_unit
    pairs = dict.fromkeys(
        (r.scenario, r.part)
        for r in answer.records
        if r.part and float(r.at.get("speed", 0.0)) > 0.0
    )
    groups = [_group(answer.records, *pair, unit) for pair in pairs]
    whole = [
        f"{r.quantity.replace('_', ' ')}: {show(r, unit)}"
        for r in answer.records
        if r.quantity in WHOLE and not r.part and not r.at and isinstance(r.value, float)
    ]
    brief = [_clause(finding, unit) for finding in answer.findings]
    verdict = summed(answer.findings) if answer.findings else "explore"
    return {"verdict": verdict, "groups": groups, "whole": whole, "brief": brief,
            "warnings": [told_in(w, unit) for w in answer.warnings]}  # fmt: skip


def _clause(finding: Finding, unit: LengthUnit) -> dict[str, str]:
    record = finding.record
    known = record is not None and record.value is not None
    return {
        "name": clause_name(finding.clause.name, unit),
        "wanted": wish_text(finding, unit),
        "found": show(record, unit) if known and record else "-",
        "margin": margin_text(finding, unit) or "-",
        "verdict": finding.verdict,
        "why": told_in(finding.reason, unit) if finding.reason else "",
    }


def _group(records: Sequence[Record], scenario: str, part: str, unit: LengthUnit) -> dict[str, Any]:
    mine = [r for r in records if (r.scenario, r.part) == (scenario, part)]
    starts = select(mine, "start_speed")
    lead = ""
    if starts:
        start = starts[0]
        why = why_untrusted(start)
        since = "" if is_upper_bound(start.basis) else "at "
        lead = f"no start told: {told_in(why or start.reason, unit)}"
        if start.value is not None and why is None:
            lead = f"starts {since}{show(start, unit)}"
        if start.value is not None and start.basis.endswith(COARSE):
            lead += ", by a coarse mesh alone: march it"
    speeds = sorted({float(r.at["speed"]) for r in mine if set(r.at) == {"speed"}})
    shown = [pair for pair in SHOWN if pair[0] not in OF_A_MARCH or select(mine, pair[0])]
    rows = []
    for speed in speeds:
        here = [r for r in mine if r.at == {"speed": speed}]
        cells = [speed_text(speed, unit)]
        for quantity, _ in shown:
            cells.append(_cell(select(here, quantity), unit))
        rows.append(cells)
    head = ["speed", *(name for _, name in shown)]
    return {"name": f"{part}, {scenario}", "lead": lead, "head": head, "rows": rows}


def _cell(found: Sequence[Record], unit: LengthUnit) -> str:
    if not found:
        return "-"
    if found[0].value is not None:
        return show(found[0], unit) if why_untrusted(found[0]) is None else "none to trust"
    return BEATS if found[0].quantity == "verdict" and only_beats(found[0].reason) else "-"
