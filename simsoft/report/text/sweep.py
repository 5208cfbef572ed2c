"""The text of a sweep: what was run, the ranked table, the brief of the best designs."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Sequence

from simsoft.core.quantities import words
from simsoft.design.brief import NEVER, OPEN, Finding
from simsoft.design.rank import Confirmed, Ranked, Ranking, changes_of
from simsoft.design.sweep.run import Sweep
from simsoft.design.sweep.table import Column, SweepTable
from simsoft.report.text.brief import brief_lines, brief_verdict, folded
from simsoft.report.text.width import WIDTH
from simsoft.report.units import LengthUnit, show
from simsoft.results.record import Record

MOST_ROWS = 15
SHOWN = (
    "start_speed", "flap_frequency", "stroke", "fold_back", "sink_rate", "cast_distance",
    "hook_clearance",
)  # fmt: skip
MOST_COLUMNS = 6
AGAINST = "against the file"
NARROW = 10  # a column's name is broken no shorter than this


def short(path: str) -> str:
    """Return the end of a dotted path, enough to know it by."""
    return path.rpartition(".")[2]


def plain_value(value: str) -> str:
    """Return a value as a reader knows it: the sizes of a taper from root to tip."""
    return " to ".join(re.findall(r'"([^"]*)"', value)) or value


def sweep_text(
    sweep: Sweep,
    table: SweepTable,
    ranked: Ranking,
    confirmed: Sequence[Confirmed],
    solved: int,
) -> str:
    """Return the whole text of a sweep."""
    lines = [*folded(_head(table, solved)), ""]
    lines += _ranking(sweep, table, ranked)
    for item in confirmed:
        lines += ["", *confirmed_lines(table.paths, item, sweep.case.length_unit)]
    failed = [i for i in range(table.count) if table.status[i] != "done"]
    if failed:
        lines += ["", f"Without an answer: {len(failed)} of {table.count} designs; the first:"]
        for i in failed[:3]:
            text = f"{_setting(table.paths, table.values[i])}: {table.reason[i]}"
            lines += folded(text, "  ", "    ")
    return "\n".join(lines) + "\n"


def _head(table: SweepTable, solved: int) -> str:
    done = table.status.count("done")
    fresh = f"{solved} runs solved now" if solved else "all answered from the file"
    return f"{table.title}: {table.count} designs, {done} done ({fresh})."


def _setting(paths: Sequence[str], values: Sequence[str]) -> str:
    return ", ".join(f"{short(p)} {v}" for p, v in zip(paths, values, strict=True))


def _ranking(sweep: Sweep, table: SweepTable, ranked: Ranking) -> list[str]:
    if not len(ranked):
        return ["No design could be solved."]
    unit = sweep.case.length_unit
    if sweep.case.brief:
        head = [*map(short, table.paths), "margin"]
        head += [name for c in sweep.case.brief for name in (c.name, AGAINST)]
        rows, shown = [], list(ranked.designs(MOST_ROWS))
        for item in shown:
            margin = score_text(item.score)
            moved = zip(item.findings, changes_of(item, ranked.own.hand), strict=True)
            cells = [cell for f, x in moved for cell in (_clause_cell(f, unit), change_cell(x))]
            rows.append([*item.values, margin, *cells])
        first, below = _first(ranked), unanswered(shown)
    else:
        below = []
        columns = worth_showing(table)[:MOST_COLUMNS]
        head = [short(p) for p in table.paths] + [_column_head(c.parts) for c in columns]
        rows = []
        for item in ranked.designs(MOST_ROWS):
            found = {c.name: r for c, r in _cells(table, item.index, [c.name for c in columns])}
            rows.append([*item.values, *(
                _value_text(found[c.name], unit) if c.name in found else "-" for c in columns
            )])  # fmt: skip
        first = "No [[brief]] in the case: designs in their own order, all numbers in sweep.csv."
    lines = [*folded(first, later=""), *folded(look_words(ranked), later=""), ""]
    lines += fitting([head, *rows], len(table.paths) + 1)
    lines += [line for told in below for line in folded(told)]
    if len(ranked) > MOST_ROWS:
        lines.append(f"and {len(ranked) - MOST_ROWS} more in sweep.csv")
    return lines


def _first(ranked: Ranking) -> str:
    """Return how many designs meet the brief, and what the table below tells."""
    more = ""
    if ranked.so_far:
        more = f", {ranked.so_far} more so far (`?`: not answered)"
    return (
        f"{ranked.good} of {len(ranked)} meet the whole brief by their numbers{more} (margin: "
        "smallest distance from a limit, in half bands of the case as it stands). Against "
        "the file: middle to middle; `simsoft run --change` tells the band of a change."
    )


def look_words(ranked: Ranking) -> str:
    """Return on what ground the numbers stand where the file holds what was seen; else nothing."""
    if not ranked.case.seen or not ranked.case.brief:
        return ""
    if not ranked.own.looks:
        return "What was seen ([[seen]]) moves none of these numbers."
    bare = f" Not moved: {', '.join(ranked.own.bare)}." if ranked.own.bare else ""
    return (
        "What was seen ([[seen]]) moves every number here by as much as the file's own; "
        f"sweep.csv holds them without it.{bare}"
    )


def unanswered(shown: Sequence[Ranked]) -> list[str]:
    """Return the reason of every clause that is not answered of some design, each once."""
    return list(
        dict.fromkeys(
            f"?: {finding.clause.name}: {finding.reason or 'not answered'}"
            for item in shown
            for finding in item.findings
            if finding.verdict == OPEN
        )
    )


def fitting(rows: Sequence[Sequence[str]], fewest: int) -> list[str]:
    """Return a table without the last columns, of more than ``fewest``, that 80 cannot hold.

    A line below names what was left out.
    """
    left = len(rows[0])
    lines = aligned(rows)
    while left > fewest and max(map(len, lines)) > WIDTH:
        left -= 1
        lines = aligned([row[:left] for row in rows])
    if left < len(rows[0]):
        lines += folded(f"no room here for {', '.join(rows[0][left:])}: see sweep.csv", "")
    return lines


def worth_showing(table: SweepTable) -> list[Column]:
    """Return the columns a reader looks for, the first of them first; what hangs still is none."""
    found = [
        c for c in table.columns.values() if c.parts[2] in SHOWN and c.parts[4].get("speed") != 0.0
    ]
    return sorted(found, key=lambda column: SHOWN.index(column.parts[2]))


def _cells(table: SweepTable, index: int, names: Sequence[str]) -> list[tuple[Column, Record]]:
    from simsoft.design.sweep.row import cell_record
    from simsoft.design.sweep.table import cell_at

    pairs = [(table.columns[name], cell_at(table.columns[name], index)) for name in names]
    return [(column, cell_record(cell)) for column, cell in pairs if cell is not None]


def _column_head(parts: tuple[str, str, str, str, dict[str, object]]) -> str:
    _, part, quantity, _, at = parts
    name = words(quantity)
    speed = at.get("speed")
    return f"{part} {name}" + (f" at {speed:.3g} m/s" if isinstance(speed, float) else "")


def _value_text(record: Record, unit: LengthUnit) -> str:
    return "none" if record.value is None else show(record, unit)


def change_cell(ratio: float | None) -> str:
    """Return a ratio as a change in per cent, a dash for none."""
    return "-" if ratio is None else f"{round(100.0 * (ratio - 1.0)):+d} %"


def score_text(score: float) -> str:
    """Return a margin in half bands; a dash where a clause has no answer."""
    return f"{score:+.1f}" if score > NEVER else "-"


def _clause_cell(finding: Finding, unit: LengthUnit) -> str:
    mark = {"meets": "yes", "misses": "NO", "not answered": "?"}.get(finding.verdict, "")
    if finding.record is None:
        return mark
    return f"{_value_text(finding.record, unit)} {mark}"


def aligned(rows: Sequence[Sequence[str]]) -> list[str]:
    """Return rows of texts as lines with aligned columns, the first row underlined.

    The names in the first row are broken over several lines where the table would be too wide.
    """
    head, *body = rows
    widths = [max(len(row[i]) for row in rows) for i in range(len(head))]
    heads = [[name] for name in head]
    if sum(widths) + 2 * (len(widths) - 1) > WIDTH:
        cells = [max((len(row[i]) for row in body), default=1) for i in range(len(head))]
        plain = [name.replace("-", " ").replace("_", " ") for name in head]
        heads = [textwrap.wrap(name, max(cells[i], NARROW)) for i, name in enumerate(plain)]
        widths = [max(cell, *map(len, name)) for cell, name in zip(cells, heads, strict=True)]
    tall = max(map(len, heads))
    above = [[(name + [""] * tall)[i] for name in heads] for i in range(tall)]
    lines = [
        "  ".join(text.ljust(width) for text, width in zip(row, widths, strict=True)).rstrip()
        for row in (*above, *body)
    ]
    return [*lines[:tall], "-" * max(map(len, lines[:tall])), *lines[tall:]]


def confirmed_lines(paths: Sequence[str], item: Confirmed, unit: LengthUnit) -> list[str]:
    """Return the brief of one design run with its bands."""
    name = _setting(paths, item.values) if item.values else "the case as it stands"
    if item.reason:
        return [f"{name}: could not be run; {item.reason}"]
    lines = [f"{name}: {brief_verdict(item.findings)}"]
    return lines + brief_lines(item.findings, unit)
