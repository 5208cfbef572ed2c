"""The text of a pick: the one change, its allowed band, the runners-up, or the nearest miss."""

from __future__ import annotations

from collections.abc import Sequence

from simsoft.design.brief import overall
from simsoft.design.pick import SURE, Pick
from simsoft.design.rank import Confirmed
from simsoft.report.text.brief import brief_lines, folded
from simsoft.report.text.change import change_sentence
from simsoft.report.text.sweep import aligned, short
from simsoft.report.text.tolerance import percent
from simsoft.report.units import LengthUnit, show, told_in

MOST_ROWS = 16


def pick_text(
    title: str, picks: Sequence[Pick], confirmed: Sequence[Confirmed], unit: LengthUnit, fast: bool
) -> str:
    """Return the whole text; ``picks`` are in order, ``confirmed`` belongs to the first ones."""
    first = picks[0]
    lines = folded(f"{title}: {headline(first, unit)}")
    lines += [
        line for told in map(change_sentence, first.chosen.changes) for line in folded(told, "  ")
    ]
    for other in picks[1:]:
        if other.best is not None:
            text = f"or {change_text(other)}: met by {percent(other.chosen.chance)} of samples"
            lines += folded(text, "  ", "    ")
    for other in picks:
        if other.best is None and other is not first:
            text = f"{varied(other)} alone does not do it: {miss_text(other, unit)}"
            lines += folded(text, "  ", "    ")
    for item in confirmed:
        name = ", ".join(f"{short(p)} {v}" for p, v in (_split(text) for text in item.values))
        word = overall(item.findings).upper() if item.findings else "could not be run"
        lines += ["", f"Run forward with bands, {name}: {word}"]
        lines += brief_lines(item.findings, unit)
        if item.reason:
            lines += folded(item.reason, "  ")
    lines += ["", *_table(first)]
    if fast:
        lines += folded("Candidates screened without a march; the runs with bands are marched.")
    return "\n".join(lines) + "\n"


def varied(pick: Pick) -> str:
    """Return what a pick varies, in words."""
    return short(pick.axis.path).replace("_", " ")


def _split(text: str) -> tuple[str, str]:
    path, _, value = text.partition("=")
    return path, value


def headline(pick: Pick, unit: LengthUnit) -> str:
    """Return the pick in a sentence, or that there is none and what comes nearest."""
    if pick.best is None:
        return f"none in range. Nearest is {change_text(pick)}: {miss_text(pick, unit)}"
    if pick.least is not None:
        surest = ""
        if pick.least is not pick.best:
            surest = f" Surest is {pick.best.value}, met by {percent(pick.best.chance)}."
        return (
            f"{change_text(pick)}, the least change that meets the brief in "
            f"{100 * SURE:.0f} % of samples: {percent(pick.least.chance)}.{surest}"
        )
    low, high = pick.keep
    keep = f", keep {low} to {high}" if low != high else ""
    if pick.best in (pick.candidates[0], pick.candidates[-1]):
        keep += " (at the end of what was looked through)"
    return f"{change_text(pick)}{keep}; met by {percent(pick.best.chance)} of samples."


def change_text(pick: Pick) -> str:
    """Return the change that a pick asks for."""
    chosen = pick.chosen.value
    if pick.before and pick.before == chosen:
        return f"{varied(pick)} stays {chosen}"
    before = f"{pick.before} -> " if pick.before else ""
    cost = f" ({pick.cost})" if pick.cost and pick.best is not None else ""
    return f"{varied(pick)} {before}{chosen}{cost}"


def miss_text(pick: Pick, unit: LengthUnit) -> str:
    """Return what the nearest candidate misses."""
    reason = pick.reason
    if reason is None:
        return pick.nearest.middle.reason or "no answer"
    record = reason.record
    behind = f"; {reason.reason}" if reason.reason else ""
    if record is not None and record.value is not None:
        behind = f" ({show(record, unit)})"
    return f"{varied(pick)} {pick.nearest.value} misses {told_in(reason.clause.name, unit)}{behind}"


def _table(pick: Pick) -> list[str]:
    rows = [[short(pick.axis.path), "middle", "margin", "samples that meet the brief"]]
    step = max(1, len(pick.candidates) // MOST_ROWS)
    for candidate in pick.candidates[::step]:
        mark = " <- pick" if candidate is pick.chosen and pick.best else ""
        rows.append(
            [
                candidate.value,
                "meets" if candidate.middle.passes else "misses",
                f"{candidate.middle.margin:+.1f}",
                percent(candidate.chance) + mark,
            ]
        )
    return aligned(rows)
