"""What a run answers, in words: verdict, sentences with their warnings, brief, doubts."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from simsoft.core.quantities import words
from simsoft.design.brief import GO, MARGINAL, MEETS, SO_FAR, Finding, answered, summed
from simsoft.report.html.document import stacked
from simsoft.report.html.markup import Html, joined, tag
from simsoft.report.text.answer import SHIVERS, STILL, largest_doubts, share_of
from simsoft.report.text.brief import clause_name, margin_text, wish_text
from simsoft.report.text.cast import ATTITUDE_WORDS
from simsoft.report.text.motion import FALL_WORDS
from simsoft.report.text.sentences import Group, name_of
from simsoft.report.text.whole import whole_line
from simsoft.report.units import LengthUnit, show, speed_text, told_in
from simsoft.results.record import Record, select, why_untrusted
from simsoft.results.result import RunResult

CLASSES = {
    "go": "go", "meets": "go", "marginal": "marginal", "no-go": "no-go", "misses": "no-go",
    "not answered": "open", f"{MARGINAL} {SO_FAR}": "marginal",
}  # fmt: skip
MOST_REASONS = 3  # that the line below the verdict names


def verdict_word(findings: Sequence[Finding], records: Sequence[Record]) -> str:
    """Return the verdict in a word: of the brief, or what the liveliest part does."""
    if findings:
        return summed(findings)
    found = [
        str(r.value)
        for r in select(records, "verdict")
        if r.value is not None and set(r.at) == {"speed"}
    ]
    moving = [word for word in found if word not in (STILL, SHIVERS)]
    if found:
        return (moving or sorted(found))[0]
    falls = [r for r in select(records, "fall") if r.value is not None]
    if falls:
        sure = why_untrusted(falls[0]) is None
        word = str(falls[0].value)
        return f"sinks {FALL_WORDS.get(word, word)}" if sure else "answered"
    flies = [str(r.value) for r in select(records, "flight_attitude") if r.value is not None]
    return f"flies {ATTITUDE_WORDS.get(flies[0], flies[0])}" if flies else "answered"


def verdict_line(findings: Sequence[Finding], unit: LengthUnit = "mm") -> str:
    """Return in a sentence why the brief stands as it does."""
    if not findings:
        return "No brief is asked: write one into the case, and the run judges it."
    known = answered(findings)
    bad = [f for f in known if f.verdict not in (GO, MEETS)]
    pieces = [f"{clause_name(f.clause.name, unit)}: {f.verdict}" for f in bad[:MOST_REASONS]]
    if len(bad) > MOST_REASONS:
        pieces.append(f"{len(bad) - MOST_REASONS} more clauses")
    left = len(findings) - len(known)
    if left:
        pieces.append(f"{left} of {len(findings)} clauses not answered")
    if pieces:
        return f"{'; '.join(pieces)}. See the brief."
    return f"All {len(findings)} clauses of the brief are met."


def answers(result: RunResult, shown: Sequence[Group]) -> Html:
    """Return the answers, each with the warnings about it, and the rest of the warnings."""
    left, unit = list(result.warnings), result.case.length_unit
    blocks = []
    mine: dict[int, list[str]] = {}
    # a part's warning is about its start and its beat where it has them, else the last that it fits
    for place in sorted(range(len(shown)), key=lambda i: (not _starts(shown[i]), -i)):
        fits = [w for w in left if _about(w, shown[place])]
        left = [w for w in left if w not in fits]
        mine[place] = list(dict.fromkeys(_of_pair(w, shown[place]) for w in fits))
    for place, group in enumerate(shown):
        blocks.append(_block(group, [told_in(w, unit) for w in mine[place]]))
    weighed = [r for r in result.records if not r.scenario]
    whole = []
    if weighed and (result.case.body is not None or result.case.rig is not None):
        whole.append(tag("p", whole_line(weighed, unit)))
    general = [tag("p", "Warning: ", told_in(w, unit), class_="warning") for w in left]
    return joined(blocks, whole, general)


def _starts(group: Group) -> bool:
    return any(r.quantity in ("start_speed", "verdict") for r in group.records)


def _of_pair(warning: str, group: Group) -> str:
    """Return a warning about one of a pair as one about each."""
    name = next((n for n in group.names if n and warning.startswith(n)), "")
    return name_of(group.names) + warning[len(name) :] if name else warning


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
    return stacked(head, [list(brief_cells(finding, unit)) for finding in findings])


def brief_cells(finding: Finding, unit: LengthUnit) -> Iterator[Html]:
    """Yield what a clause wants, what was found, the margin and the verdict."""
    clause = finding.clause
    yield joined(tag("b", clause_name(clause.name, unit)), " ", wish_text(finding, unit))
    yield joined(tag("span", show(finding.record, unit)) if finding.record else "not known")
    yield joined(margin_text(finding, unit) or "-")
    why = f" {finding.reason}" if finding.reason else ""
    yield joined(tag("span", finding.verdict, class_=f"badge {CLASSES[finding.verdict]}"), why)


def doubt_bars(shown: Sequence[Group], unit: LengthUnit) -> Html | None:
    """Return what the bands come from as bars, None where no record says."""
    rows = []
    for group in shown:
        rows += [_doubt(group, of, r, unit) for of, r in largest_doubts(group.records).items()]
    return tag("table", tag("tbody", rows), class_="doubts") if rows else None


def _doubt(group: Group, of: str, record: Record, unit: LengthUnit) -> Html:
    share = share_of(record)
    speed = f" at {speed_text(float(record.at['speed']), unit)}" if "speed" in record.at else ""
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
