"""What a run answers, in words: verdict, sentences with their warnings, brief, doubts."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple

from simsoft.record import Record, select
from simsoft.report.answer import SHIVERS, STILL, largest_doubts, share_of, words
from simsoft.report.brief import margin_text, wish_text
from simsoft.report.cast import ATTITUDE_WORDS, cast_answer, is_cast
from simsoft.report.html.markup import Html, joined, tag
from simsoft.report.motion import FALL_WORDS, is_motion, motion_answer
from simsoft.report.recipe import recipe_lines
from simsoft.report.sentences import about_part, groups
from simsoft.report.units import LengthUnit, show
from simsoft.report.whole import whole_line
from simsoft.result import RunResult
from simsoft.sweep.brief import Finding, answered, overall

CLASSES = {
    "go": "go", "meets": "go", "marginal": "marginal", "no-go": "no-go", "misses": "no-go",
    "not answered": "open",
}  # fmt: skip


class Group(NamedTuple):
    """The answer about one part, a pair or the whole lure in one scenario.

    Attributes
    ----------
    scenario : str
    names : tuple of str, of the parts; of the whole lure one that is empty
    records : tuple of Record, of the first of them
    lead : str, the answer
    more : tuple of (label, sentence)
    """

    scenario: str
    names: tuple[str, ...]
    records: tuple[Record, ...]
    lead: str
    more: tuple[tuple[str, str], ...]


def answer_groups(result: RunResult) -> list[Group]:
    """Return the answers of a run in the order of its scenarios, mirrored pairs told once."""
    unit = result.case.length_unit
    found: list[Group] = []
    for (scenario, part), records in groups([r for r in result.records if r.scenario]).items():
        twin = next((g for g in found if g.scenario == scenario and _alike(g, records)), None)
        if twin is not None:
            place = found.index(twin)
            both = (*twin.names, part)
            found[place] = Group(
                scenario, both, twin.records, *_told(scenario, both, twin.records, unit)
            )
            continue
        told = _told(scenario, (part,), records, unit)
        found.append(Group(scenario, (part,), tuple(records), *told))
    return [group for group in found if group.lead]


def name_of(names: Sequence[str]) -> str:
    """Return the name of one part, or of each of a pair."""
    if len(names) == 1:
        return names[0] or "whole lure"
    return "each " + " or ".join(dict.fromkeys(name.partition("/")[0] for name in names))


def _alike(group: Group, records: Sequence[Record]) -> bool:
    """Tell whether records say the same as those of a group but for the side they are on."""
    if len(group.records) != len(records) or not group.names[0] or not records[0].part:
        return False
    return all(
        (a.quantity, a.at) == (b.quantity, b.at)
        and (isinstance(a.value, tuple) or (a.value, a.low, a.high) == (b.value, b.low, b.high))
        for a, b in zip(group.records, records, strict=True)
    )


def _told(
    scenario: str, names: tuple[str, ...], records: Sequence[Record], unit: LengthUnit
) -> tuple[str, tuple[tuple[str, str], ...]]:
    """Return lead and further sentences of a group."""
    lead = ""
    more: list[tuple[str, str]] = []
    if is_cast(records):
        lead, *rest = cast_answer(scenario, records, unit)
        more = [_labelled(line) for line in rest]
    elif is_motion(records):
        lead, *rest = motion_answer(scenario, records, unit)
        more = [("", line) for line in (*rest, *recipe_lines(records, unit))]
    else:
        about = about_part(f"{scenario}: {name_of(names)}", records, unit)
        if about is not None:
            lead, more = about[0], list(about[1].items())
    return lead, tuple(more)


def _labelled(line: str) -> tuple[str, str]:
    label, colon, rest = line.strip().partition(": ")
    return (label, rest) if colon and len(label) < 20 else ("", line.strip())


def verdict_word(findings: Sequence[Finding], records: Sequence[Record]) -> str:
    """Return the verdict in a word: of the brief, or what the liveliest part does."""
    if findings:
        known = answered(findings)
        return overall(known) if known else "not answered"
    found = [
        str(r.value)
        for r in select(records, "verdict")
        if r.value is not None and set(r.at) == {"speed"}
    ]
    moving = [word for word in found if word not in (STILL, SHIVERS)]
    if found:
        return (moving or sorted(found))[0]
    falls = [str(r.value) for r in select(records, "fall") if r.value is not None]
    if falls:
        return f"sinks {FALL_WORDS.get(falls[0], falls[0])}"
    flies = [str(r.value) for r in select(records, "flight_attitude") if r.value is not None]
    return f"flies {ATTITUDE_WORDS.get(flies[0], flies[0])}" if flies else "answered"


def verdict_line(findings: Sequence[Finding]) -> str:
    """Return in a sentence how the brief stands, nothing without a brief."""
    if not findings:
        return "No brief is asked: write one into the case, and the run judges it."
    known = answered(findings)
    left = len(findings) - len(known)
    told = f"{len(known)} of {len(findings)} clauses of the brief are answered"
    return f"{told}; {left} not, see there." if left else "Every clause of the brief is answered."


def answers(result: RunResult, shown: Sequence[Group]) -> Html:
    """Return the answers, each with the warnings about it, and the rest of the warnings."""
    left = list(result.warnings)
    blocks = []
    # the last that a warning fits: a retrieve comes after still water
    for group in reversed(shown):
        mine = [w for w in left if _about(w, group)]
        left = [w for w in left if w not in mine]
        blocks.append(_block(group, mine))
    weighed = [r for r in result.records if not r.scenario]
    whole = []
    if weighed and (result.case.body is not None or result.case.rig is not None):
        whole.append(tag("p", whole_line(weighed, result.case.length_unit)))
    general = [tag("p", "Warning: ", warning, class_="warning") for warning in left]
    return joined(reversed(blocks), whole, general)


def _about(warning: str, group: Group) -> bool:
    """Tell whether a warning is about a group: it begins with a part's name, or a scenario's."""
    heads = [name for name in group.names if name] or [group.scenario]
    return any(warning.startswith((f"{head}:", f"{head} at ", f"{head},")) for head in heads)


def _block(group: Group, warnings: Sequence[str]) -> Html:
    more = [
        tag("li", tag("b", label, ": ") if label else "", sentence)
        for label, sentence in group.more
    ]
    told = [tag("p", "Warning: ", warning, class_="warning") for warning in warnings]
    return tag(
        "div",
        tag("p", group.lead, class_="lead"),
        tag("ul", more) if more else Html(),
        told,
        class_="answer",
    )


def brief_table(findings: Sequence[Finding], unit: LengthUnit) -> Html | None:
    """Return the brief as a table, None without one."""
    if not findings:
        return None
    head = ("wanted", "found", "margin", "verdict")

    def row(finding: Finding) -> Html:
        cells = zip(head, brief_cells(finding, unit), strict=True)
        return tag("tr", (tag("td", cell, data_label=name) for name, cell in cells))

    names = tag("tr", (tag("th", name, scope="col") for name in head))
    return tag("table", tag("thead", names), tag("tbody", map(row, findings)), class_="brief")


def brief_cells(finding: Finding, unit: LengthUnit) -> Iterator[Html]:
    """Yield what a clause wants, what was found, the margin and the verdict."""
    clause = finding.clause
    yield joined(tag("b", clause.name.replace("_", " ")), " ", wish_text(finding, unit))
    yield joined(tag("span", show(finding.record, unit)) if finding.record else "not known")
    yield joined(margin_text(finding, unit) or "-")
    why = f" {finding.reason}" if finding.reason else ""
    yield joined(tag("span", finding.verdict, class_=f"badge {CLASSES[finding.verdict]}"), why)


def doubts(shown: Sequence[Group]) -> Html | None:
    """Return what the bands come from as bars, None where no record says."""
    rows = []
    for group in shown:
        rows += [_doubt(group, of, r) for of, r in largest_doubts(group.records).items()]
    return tag("table", tag("tbody", rows), class_="doubts") if rows else None


def _doubt(group: Group, of: str, record: Record) -> Html:
    share = share_of(record)
    speed = f" at {float(record.at['speed']):.4g} m/s" if "speed" in record.at else ""
    bar = tag(
        "svg",
        tag("rect", width=100, height=10, class_="track"),
        tag("rect", width=round(100.0 * share, 1), height=10, class_="share"),
        viewbox="0 0 100 10",
        aria_hidden="true",
        preserveAspectRatio="none",
    )
    told = f"{record.value or record.reason}" + (f", {100.0 * share:.0f} %" if share else "")
    name = f"{name_of(group.names)}, {group.scenario}: {words(of)}{speed}"
    return tag("tr", tag("th", name, scope="row"), tag("td", bar), tag("td", told))
