"""The table of checks as text for the terminal and as the page ``validation/README.md``."""

from __future__ import annotations

from collections.abc import Sequence

from simsoft import __version__
from simsoft.validate.check import Check
from simsoft.validate.compare import CheckRow

WIDTHS = {"id": 3, "what": 12, "condition": 25, "expected": 9, "found": 9, "error": 8}
WIDTHS |= {"within": 6, "source": 16}
RIGHT = ("expected", "found", "error")
OK, MISS, SKIPPED = "ok", "MISS", "skipped"
PAGE_HEAD = """# Published checks

Written by `simsoft validate --write` with simsoft {version}; run `simsoft validate` to repeat it,
or `simsoft validate {first}` for one check. Each folder holds the case that was run (`case.toml`,
which `simsoft run` accepts as well) and the published values with their tolerances
(`expected.toml`). Numbers are dimensionless or SI as the source gives them. A value marked ≠
must be missed: a simplified model that the exact one has to differ from.

Provenance: *published* values were read in print or in a public data file; *recomputed* ones
solve a published problem again, independently of this program; *from memory* ones were written down
without the source at hand.

"""


def _verdict(row: CheckRow) -> str:
    """Return the last column of a row."""
    return SKIPPED if row.skipped else OK if row.passed else MISS


def summary_of_checks(checks: Sequence[Check], rows: Sequence[CheckRow]) -> str:
    """Return the closing line of the table."""
    ran = [row for row in rows if not row.skipped]
    missed = sum(not row.passed for row in ran)
    count = len({row.identity for row in ran}) if len(ran) < len(rows) else len(checks)
    kind = "check" if count == 1 else "checks"
    line = f"{len(ran) - missed} of {len(ran)} values of {count} {kind} within tolerance"
    line += f"; {missed} missed" if missed else ""
    skipped = dict.fromkeys(row.identity for row in rows if row.skipped)
    return f"{line}; skipped for want of an extra: {', '.join(skipped)}" if skipped else line


def text_table(checks: Sequence[Check], rows: Sequence[CheckRow]) -> str:
    """Return the table for the terminal, at most 100 columns wide, with its closing line."""
    header = " ".join(
        name.rjust(width) if name in RIGHT else name.ljust(width) for name, width in WIDTHS.items()
    ).rstrip()
    lines = [header]
    for row in rows:
        cells = _cells(row)
        words = [
            cells[name][:width].rjust(width) if name in RIGHT else cells[name][:width].ljust(width)
            for name, width in WIDTHS.items()
        ]
        lines.append(" ".join([*words, _verdict(row)]))
        if row.reason:
            lines.append(f"    {row.reason}")
    return "\n".join([*lines, summary_of_checks(checks, rows)])


def checks_page(checks: Sequence[Check], rows: Sequence[CheckRow]) -> str:
    """Return the page with every check's table, source and note, as Markdown."""
    head = PAGE_HEAD.format(version=__version__, first=checks[0].identity)
    parts = [head, f"{summary_of_checks(checks, rows)}.\n", _contents(checks, rows)]
    for check in checks:
        parts.append(f"\n## {check.identity} {check.title}\n\n")
        parts.append(f"Source: {check.source}. Provenance: {check.provenance}.\n\n")
        if check.note:
            parts.append(f"{check.note}\n\n")
        own = [row for row in rows if row.identity == check.identity]
        parts.append(_markdown(own))
    return "".join(parts)


def _contents(checks: Sequence[Check], rows: Sequence[CheckRow]) -> str:
    lines = ["\n| check | title | values | largest share of tolerance | |", "|---|---|---|---|---|"]
    for check in checks:
        own = [row for row in rows if row.identity == check.identity]
        shares = [
            abs(r.error) / r.tolerance.size for r in own if r.error is not None and not r.unlike
        ]
        share = f"{max(shares):.0%}" if shares else ""
        state = OK if all(row.passed for row in own) else MISS
        lines.append(f"| {check.identity} | {check.title} | {len(own)} | {share} | {state} |")
    return "\n".join(lines) + "\n"


def _markdown(rows: Sequence[CheckRow]) -> str:
    lines = [
        "| what | condition | expected | found | error | within | |",
        "|---|---|--:|--:|--:|--:|---|",
    ]
    for row in rows:
        cells = _cells(row)
        found = cells["found"] if not row.reason else row.reason
        shown = [cells["what"], cells["condition"], cells["expected"], found]
        shown += [cells["error"], cells["within"], _verdict(row)]
        lines.append("| " + " | ".join(text.replace("|", "\\|") for text in shown) + " |")
    return "\n".join(lines) + "\n"


def _cells(row: CheckRow) -> dict[str, str]:
    error = row.error
    size, relative = row.tolerance.size, row.tolerance.relative
    return {
        "id": row.identity,
        "what": row.what,
        "condition": row.condition,
        "expected": ("≠" if row.unlike else "") + f"{row.expected:.5g}",
        "found": "none" if row.found is None else f"{row.found:.5g}",
        "error": "" if error is None else f"{100 * error:+.2f} %" if relative else f"{error:+.1e}",
        "within": f"{100 * size:.3g} %" if relative else f"{size:.3g}",
        "source": row.source,
    }
