"""Sliders over designs that screening has solved beforehand: the form, and the designs as data."""

from __future__ import annotations

from typing import Any

from simsoft.design.brief import Finding
from simsoft.design.screened import BEATS, Screened, Slider
from simsoft.design.sweep.runs import own_water
from simsoft.report.html.markup import Html, joined, tag
from simsoft.report.text.brief import clause_name
from simsoft.report.units import LengthUnit, rounded, told_in, user_unit
from simsoft.results.record import BY_LOOK, select
from simsoft.results.result import RunResult

FREEZING = 273.15  # [K]
DIGITS = 6  # significant, as the page carries the designs
JUDGED = ("start_speed", "flap_frequency", "stroke", "edge_to_edge", "fold_back", "verdict")


def given_start(result: RunResult, scenario: str, part: str) -> float | None:
    """Return the start speed [m/s] of a run that a look at the bait has moved, or None."""
    for record in select(result.records, "start_speed"):
        here = (record.scenario, record.part) == (scenario, part)
        if here and BY_LOOK in record.basis and isinstance(record.value, float):
            return record.value
    return None


def slider_form(found: Screened, result: RunResult, lead: str, looked: bool) -> Html:
    """Return the form that the script of the page brings to life; hidden without it.

    ``lead`` is what the run itself answers, marched and with bands; ``looked`` tells whether the
    designs start from what was seen (`given_start`).
    """
    rows = [_row(place, slider, result) for place, slider in enumerate(found.sliders)]
    intro = (
        f"Middle values of the screening solver for {found.part} in {found.scenario}, "
        f"{len(found.designs)} designs solved beforehand; no bands. Screening tells the start and "
        "the rate near it; how far a tail that beats strokes and folds back only a march tells. "
        "Prove a choice with simsoft run --set; simsoft explore turns length and more."
    )
    if looked:
        intro += (
            " All starts are moved by the factor by which what was seen moves that of the bait in "
            "hand."
        )
    return joined(
        tag("p", intro),
        tag("p", "The run itself: ", lead),
        tag(
            "div",
            tag("div", rows, class_="knobs"),
            tag("div", id="slid", aria_live="polite"),
            class_="sliders",
        ),
        tag("button", "Back to the case's own values", type="button", id="slid-back"),
    )


def _row(place: int, slider: Slider, result: RunResult) -> Html:
    name = f"slider-{place}"
    return tag(
        "p",
        tag("label", slider.name, for_=name),
        tag(
            "input",
            type="range",
            id=name,
            min=0,
            max=len(slider.values) - 1,
            step=1,
            value=slider.own,
            aria_valuetext=told(slider, slider.values[slider.own], result),
        ),
        tag("output", told(slider, slider.values[slider.own], result), for_=name),
    )


def told(slider: Slider, value: float, result: RunResult) -> str:
    """Return a slider's value in the user's units."""
    if slider.unit == "m":
        factor, unit = user_unit("m", result.case.length_unit)
        return f"{rounded(factor * value, 2 if unit == 'mm' else 3)} {unit}"
    if slider.unit == "K":
        return f"{value - FREEZING:.3g} degC"
    return f"{value:g} {slider.unit}"


def slider_data(found: Screened, result: RunResult, findings: list[Finding]) -> dict[str, Any]:
    """Return the designs as plain data: SI units, words and reasons by number."""
    factor, unit = user_unit("m", result.case.length_unit)
    pace = user_unit("m/s", result.case.length_unit)
    words = sorted({str(a[0]) for d in found.designs for a in d.answers if a[0] is not None})
    reasons = sorted({(d.why, d.open) for d in found.designs if d.why})
    designs = []
    for design in found.designs:
        row: list[Any] = [_short(design.start)]
        row.append(reasons.index((design.why, design.open)) if design.why else None)
        for word, *values in design.answers:
            row += [None if word is None else words.index(word), *map(_short, values)]
        designs.append(row)
    return {
        "axes": [
            {"told": [told(s, v, result) for v in s.values], "own": s.own} for s in found.sliders
        ],
        "speeds": list(found.speeds),
        "words": words,
        "beats": BEATS,
        "reasons": [told_in(why, result.case.length_unit) for why, _ in reasons],
        "open": [left for _, left in reasons],
        "length": {"factor": factor, "unit": unit},
        "pace": {"factor": pace[0], "unit": pace[1]},
        "wishes": [
            _wish(f, result.case.length_unit) for f in findings if _judged(f, found, result)
        ],
        "designs": designs,
    }


def _short(value: float | None) -> float | None:
    return None if value is None else float(f"{value:.{DIGITS}g}")


def _judged(finding: Finding, found: Screened, result: RunResult) -> bool:
    """Tell whether screening answers a clause, in the water that the slider says."""
    clause = finding.clause
    if clause.quantity not in JUDGED or not own_water(clause, result.case) or clause.at:
        return False
    known = clause.speed is None or clause.speed in found.speeds
    here = clause.scenario in (None, found.scenario)
    return known and here and clause.part in (None, found.part)


def _wish(finding: Finding, unit: LengthUnit) -> dict[str, Any]:
    clause = finding.clause
    return {
        "name": clause_name(clause.name, unit),
        "quantity": clause.quantity,
        "speed": clause.speed,
        "least": clause.at_least,
        "most": clause.at_most,
        "equals": clause.equals,
    }
