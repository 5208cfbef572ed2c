"""The freeze sheet: what is signed before metal is cut."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from simsoft.design.brief import Finding, judge
from simsoft.design.freeze import Freeze, meeting, open_reasons
from simsoft.report.html.answers import brief_cells
from simsoft.report.html.document import document, footer, grid, page_section, stacked
from simsoft.report.html.markup import Html, joined, tag
from simsoft.report.html.tables import response_table
from simsoft.report.text.cad import CAUTION, cost_lines
from simsoft.report.text.seen import seen_sentences
from simsoft.report.text.sentences import answer_groups
from simsoft.report.text.tolerance import setting_text
from simsoft.report.units import LengthUnit, show, told_in
from simsoft.results.hdf5_reader import Stored
from simsoft.results.record import select, why_untrusted

FILE = "freeze.html"
READY, NOT_READY = "READY", "NOT READY"
SEEN = ("flap_frequency", "edge_to_edge")  # of a beat, as a maker sees it


def freeze_sheet(stored: Stored, known: Freeze) -> str:
    """Return the freeze sheet of a banded run as HTML.

    Parameters
    ----------
    stored : Stored, with bands and with the clauses in other water answered
    known : Freeze
    """
    result = stored.result
    findings = judge(result.case, result.records, banded=True)
    reasons = open_reasons(findings, known)
    word = NOT_READY if reasons else READY
    badge = tag("span", word, class_=f"badge {'no-go' if reasons else 'go'}")
    sections = [
        page_section("why", "Why", _why([told_in(r, result.case.length_unit) for r in reasons])),
        page_section("brief", "Brief", _brief(findings, result.case.length_unit)),
        *_action(stored),
        page_section("sizes", "Sizes and cavity", _sizes(known)),
        page_section("recipe", "Recipe", *_recipe(stored, known)),
        page_section("risk", "Risk", *_risk(stored, known)),
        page_section("signed", "Signed", _signed()),
    ]
    title = f"{word} for metal: {result.case.title}"
    heading = joined(badge, " for metal: ", result.case.title)
    standing = (
        "Ready means: every clause is met by its whole band, the worst corner of making and use "
        "meets the brief, and no further resin loop can pay for itself."
    )
    return document(title, heading, standing, sections, footer(stored))


def _why(reasons: Sequence[str]) -> Html:
    if not reasons:
        return tag("p", "Nothing that this sheet looks at speaks against it.")
    return tag("ul", (tag("li", reason) for reason in reasons))


def _brief(findings: Sequence[Finding], unit: LengthUnit) -> Html:
    rows = [[*brief_cells(finding, unit), ""] for finding in findings]
    return stacked(("wanted", "predicted", "margin", "verdict", "measured"), rows)


def _action(stored: Stored) -> Iterator[Html]:
    """Yield what every part is predicted to do, as it is seen from above, and what was seen."""
    unit = stored.result.case.length_unit
    told: list[Html] = []
    for group in answer_groups(stored.result):
        table = response_table(group.records, unit, SEEN)
        told += [tag("p", group.lead), *([] if table is None else [table])]
    told += [tag("p", look) for look in seen_sentences(stored.result)[0]]
    if told:
        yield page_section("action", "What it does", *told)


def _sizes(known: Freeze) -> Html:
    cut = {p.name.removesuffix("_cavity"): p for p in known.cut}
    rows = []
    for size in known.sizes:
        cavity = cut.get(size.name)
        # a comment is the key, and the place along the length where there is more than one
        key, at, place = size.comment.partition(" at ")
        told = [f"{cavity.value} {cavity.unit}", cavity.comment] if cavity else (
            ["-", "-" if "." in key else key]
        )  # fmt: skip
        name = f"{size.name.replace('_', ' ')}{at}{place}"
        rows.append([name, f"{size.value} {size.unit}", *told])
    return stacked(("size", "part", "cavity", "tolerance and what is taken off"), rows)


def _recipe(stored: Stored, known: Freeze) -> list[Html]:
    material, poured = stored.result.case.material, known.poured
    told = [
        f"Shot {1e3 * poured.mass:.3g} g a lure; {1e3 * poured.plate_mass:.3g} g for "
        f"{poured.cavities} in a plate with {100.0 * poured.runner_share:.0f} % of runner."
    ]
    if material.salt_fraction:
        told.append(f"Salt {100.0 * material.salt_fraction:.3g} % by mass.")
    if material.density is not None:
        told.append(f"Density of the finished compound {material.density:.4g} kg/m3.")
    if material.hardness is not None and known.window:
        ends = meeting(known.window, material.hardness)
        tried = f"{known.window[0][0]:g} to {known.window[-1][0]:g}"
        window = (
            "no durometer about it meets the brief in the middle"
            if ends is None
            else f"middle values meet the brief from {ends[0]:g} to {ends[1]:g} {known.scale}"
        )
        told.append(
            f"Durometer {material.hardness:g} {known.scale}; {window} (tried {tried}, "
            "in steps of 3)."
        )
    return [tag("p", line) for line in told]


def _risk(stored: Stored, known: Freeze) -> list[Html]:
    result = stored.result
    unit = result.case.length_unit
    where = " with ".join(setting_text(item, value, unit) for item, value in known.corner.settings)
    sample = known.corner.sample
    does = f"could not be run; {sample.reason}" if sample.reason else (
        "still meets the brief" if sample.passes else "fails"
    )  # fmt: skip
    lines = [
        f"Worst corner (one in twenty each): {where}: {does}.",
        " ".join(" ".join(cost_lines(known.chance, known.costs)).split()),
    ]
    gaps = [
        r
        for r in select(result.records, "hook_clearance")
        if "spot" not in r.at and isinstance(r.value, float) and why_untrusted(r) is None
    ]
    if gaps:
        closest = min(gaps, key=lambda r: r.low if isinstance(r.low, float) else r.value)  # type: ignore[arg-type, return-value]
        lines.append(f"Hook gap at its closest, with its band: {show(closest, unit)}.")
    risks = [tag("p", "Warning: ", warning, class_="warning") for warning in result.warnings]
    return [*(tag("p", line) for line in lines), *risks, tag("p", CAUTION, class_="caution")]


def _signed() -> Html:
    rows = [["", "", ""]]
    return tag(
        "div", grid(("date", "name", "what was measured, and with what"), rows), class_="sign"
    )
