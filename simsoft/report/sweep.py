"""The text of a sweep: what was run, the ranked table, the brief of the best designs."""

from __future__ import annotations

from collections.abc import Sequence

from simsoft.record import Record
from simsoft.report.units import LengthUnit, decimals, number, show, user_unit
from simsoft.sweep.brief import Finding, overall
from simsoft.sweep.rank import Confirmed, Ranked
from simsoft.sweep.run import Sweep
from simsoft.sweep.table import Column, Table

MOST_ROWS = 15
SHOWN = ("start_speed", "flap_frequency", "stroke", "fold_back", "sink_rate", "cast_distance")
MOST_COLUMNS = 6


def short(path: str) -> str:
    """Return the end of a dotted path, enough to know it by."""
    return path.rpartition(".")[2]


def sweep_text(
    sweep: Sweep,
    table: Table,
    ranked: Sequence[Ranked],
    confirmed: Sequence[Confirmed],
    solved: int,
) -> str:
    """Return the whole text of a sweep."""
    lines = [_head(table, solved), ""]
    lines += _ranking(sweep, table, ranked)
    for item in confirmed:
        lines += ["", *confirmed_lines(table.paths, item, sweep.case.length_unit)]
    failed = [i for i in range(table.count) if table.status[i] != "done"]
    if failed:
        lines += ["", f"Without an answer: {len(failed)} of {table.count} designs; the first:"]
        for i in failed[:3]:
            lines.append(f"  {_setting(table.paths, table.values[i])}: {table.reason[i]}")
    return "\n".join(lines) + "\n"


def _head(table: Table, solved: int) -> str:
    done = table.status.count("done")
    fresh = f"{solved} runs solved now" if solved else "all answered from the file"
    return f"{table.title}: {table.count} designs, {done} done ({fresh})."


def _setting(paths: Sequence[str], values: Sequence[str]) -> str:
    return ", ".join(f"{short(p)} {v}" for p, v in zip(paths, values, strict=True))


def _ranking(sweep: Sweep, table: Table, ranked: Sequence[Ranked]) -> list[str]:
    if not ranked:
        return ["No design could be solved."]
    unit = sweep.case.length_unit
    if sweep.case.brief:
        head = [short(p) for p in table.paths] + [c.name for c in sweep.case.brief] + ["margin"]
        rows = [
            [*item.values, *(_clause_cell(f, unit) for f in item.findings), f"{item.score:+.1f}"
             if item.score > -1e6 else "-"]
            for item in ranked[:MOST_ROWS]
        ]  # fmt: skip
        good = sum(item.meets for item in ranked)
        first = (
            f"{good} of {len(ranked)} meet the whole brief by their numbers (margin: smallest "
            "distance from a limit, in half bands of the case as it stands)."
        )
    else:
        columns = [c for c in table.columns.values() if c.parts[2] in SHOWN][:MOST_COLUMNS]
        head = [short(p) for p in table.paths] + [_column_head(c.parts) for c in columns]
        rows = []
        for item in ranked[:MOST_ROWS]:
            found = {c.name: r for c, r in _cells(table, item.index, [c.name for c in columns])}
            rows.append([*item.values, *(
                _value_text(found[c.name], unit) if c.name in found else "-" for c in columns
            )])  # fmt: skip
        first = "No [[brief]] in the case: designs in their own order."
    lines = [first, *aligned([head, *rows])]
    if len(ranked) > MOST_ROWS:
        lines.append(f"and {len(ranked) - MOST_ROWS} more in sweep.csv")
    return lines


def _cells(table: Table, index: int, names: Sequence[str]) -> list[tuple[Column, Record]]:
    from simsoft.sweep.row import record_of
    from simsoft.sweep.table import cell_at

    pairs = [(table.columns[name], cell_at(table.columns[name], index)) for name in names]
    return [(column, record_of(cell)) for column, cell in pairs if cell is not None]


def _column_head(parts: tuple[str, str, str, str, dict[str, object]]) -> str:
    _, part, quantity, _, at = parts
    words = quantity.replace("_", " ")
    speed = at.get("speed")
    return f"{part} {words}" + (f" at {speed:.3g} m/s" if isinstance(speed, float) else "")


def _value_text(record: Record, unit: LengthUnit) -> str:
    return "none" if record.value is None else show(record, unit)


def _clause_cell(finding: Finding, unit: LengthUnit) -> str:
    mark = {"meets": "yes", "misses": "NO", "not answered": "?"}.get(finding.verdict, "")
    if finding.record is None:
        return mark
    return f"{_value_text(finding.record, unit)} {mark}"


def aligned(rows: Sequence[Sequence[str]]) -> list[str]:
    """Return rows of texts as lines with aligned columns, the first row underlined."""
    widths = [max(len(row[i]) for row in rows) for i in range(len(rows[0]))]
    lines = [
        "  ".join(text.ljust(width) for text, width in zip(row, widths, strict=True)).rstrip()
        for row in rows
    ]
    return [lines[0], "-" * len(lines[0]), *lines[1:]]


def confirmed_lines(paths: Sequence[str], item: Confirmed, unit: LengthUnit) -> list[str]:
    """Return the brief of one design run with its bands."""
    name = _setting(paths, item.values) if item.values else "the case as it stands"
    if item.reason:
        return [f"{name}: could not be run; {item.reason}"]
    lines = [f"{name}: {overall(item.findings).upper()}"]
    return lines + [f"  {line}" for line in brief_lines(item.findings, unit)]


def brief_lines(findings: Sequence[Finding], unit: LengthUnit) -> list[str]:
    """Return one line for every clause: verdict, wish, number with band, margin."""
    return [_brief_line(finding, unit) for finding in findings]


def _brief_line(finding: Finding, unit: LengthUnit) -> str:
    clause = finding.clause
    behind = "" if finding.record is None else show(finding.record, unit)
    text = f"{finding.verdict:<12} {clause.name} ({wish_text(finding, unit)}): {behind}"
    if finding.margin is not None:
        factor, name = user_unit(clause.unit, unit)
        gap = abs(finding.margin) * factor
        side = "inside" if finding.margin >= 0 else "outside"
        text += f"; {number(gap, decimals(gap) - 1)} {name} {side}".rstrip()
    if finding.reason and finding.reason not in behind:
        text += f"; {finding.reason}"
    return text


def wish_text(finding: Finding, unit: LengthUnit) -> str:
    """Return what a clause asks for, in the user's units."""
    clause = finding.clause
    if clause.equals is not None:
        return f"to be '{clause.equals}'"
    factor, name = user_unit(clause.unit, unit)
    pieces = [
        f"{word} {limit * factor:.4g} {name}".rstrip()
        for word, limit in (("at least", clause.at_least), ("at most", clause.at_most))
        if limit is not None
    ]
    return " and ".join(pieces)
