"""What the aquarium found, as text: measurements, comparisons, agreement of many designs."""

from __future__ import annotations

import json
import textwrap
from collections.abc import Sequence

from simsoft.aquarium.agreement import (
    FEWEST_DESIGNS,
    decisions,
    limits_of_agreement,
    rank_correlation,
)
from simsoft.aquarium.compare import Comparison
from simsoft.aquarium.measured import Flag, Measured
from simsoft.core.quantities import words
from simsoft.report.text.width import WIDTH, width
from simsoft.report.units import LengthUnit, show
from simsoft.results.record import Record

ZERO_CELSIUS = 273.15  # [K]
CAUTION = "Screening estimates, not a safety assessment. Hooks: bend or cover the point to test."


def _table(rows: Sequence[Sequence[str]]) -> list[str]:
    """Return rows as aligned columns, a rule below the first."""
    widths = [max(len(row[i]) for row in rows) for i in range(len(rows[0]))]
    lines = ["  ".join(c.ljust(w) for c, w in zip(row, widths, strict=True)) for row in rows]
    return [lines[0], "-" * len(lines[0].rstrip()), *lines[1:]]


def _short(line: str) -> str:
    """Return a line cut to the width of a page."""
    return line if len(line.rstrip()) <= WIDTH else line[: WIDTH - 3] + "..."


def conditions(measured: Measured) -> str:
    """Return under which conditions something was measured."""
    found = []
    if "speed" in measured.at:
        found.append(f"{float(measured.at['speed']):.3g} m/s")
    if "frequency" in measured.at and float(measured.at["frequency"]) > 0.0:
        found.append(f"{float(measured.at['frequency']):.3g} Hz")
    if "temperature" in measured.at:
        found.append(f"{float(measured.at['temperature']) - ZERO_CELSIUS:.3g} degC")
    if "head_wind" in measured.at:
        found.append(f"wind {float(measured.at['head_wind']):g} m/s")
    return ", ".join(found)


def _flags(found: Sequence[Measured]) -> list[str]:
    """Return every doubt once, severe ones marked."""
    seen: dict[str, Flag] = {}
    for measured in found:
        for flag in measured.flags:
            seen.setdefault(flag.word + flag.text, flag)
    lines: list[str] = []
    for flag in seen.values():
        mark = "!" if flag.severe else "-"
        lines += textwrap.wrap(
            f"{flag.word}: {flag.text}",
            width(),
            initial_indent=f"  {mark} ",
            subsequent_indent="    ",
        )
    return lines


def measured_page(found: Sequence[Measured], unit: LengthUnit = "mm") -> str:
    """Return measurements as text: value with its uncertainty, n, conditions, doubts, methods.

    A row marked ! has a severe doubt, one marked - has no value.
    """
    rows = [("", "quantity", "value (68 %)", "n", "at")]
    heads: dict[int, str] = {}
    for m in found:
        if m.run != (heads[max(heads)] if heads else None):
            heads[len(rows)] = m.run
        mark = "" if m.clear else "-" if m.value is None else "!"
        value = "none" if m.value is None else show(m.record(), unit)
        rows.append((mark, words(m.quantity), value, str(m.n), conditions(m)))
    table = _table(rows)
    lines = table[:2]
    for i, line in enumerate(table[2:], 1):
        lines += [*([heads[i]] if heads.get(i) else []), _short(line)]
    lines += _missing(found)
    flags = _flags(found)
    if flags:
        lines += ["", "Doubts (! the number must not be trusted)", *flags]
    lines += ["", "Methods"]
    methods = (f"{words(m.quantity)}: {m.method}" for m in found if m.method)
    for method in dict.fromkeys(methods):
        lines += textwrap.wrap(method, width(), initial_indent="  ", subsequent_indent="    ")
    return "\n".join(line.rstrip() for line in lines) + "\n"


def _missing(found: Sequence[Measured]) -> list[str]:
    """Return why values are missing, the quantities of one reason together."""
    names: dict[str, list[str]] = {}
    for m in found:
        if m.value is None:
            names.setdefault(m.reason or "not measured", []).append(words(m.quantity))
    lines: list[str] = ["", "No value"] if names else []
    for reason, which in names.items():
        text = f"{', '.join(dict.fromkeys(which))}: {reason}"
        lines += textwrap.wrap(text, width(), initial_indent="  ", subsequent_indent="    ")
    return lines


def compared_page(
    pairs: Sequence[Comparison], title: str, unit: LengthUnit = "mm", lock: str = ""
) -> str:
    """Return comparisons as text: measured, predicted, error, normalised error, verdict."""
    lines = [f"Case: {title}", f"Prediction: {lock or 'not locked beforehand'}"]
    for pair in pairs:
        told = [error_text(pair), "" if pair.error_n is None else f"E_n {pair.error_n:.2f}"]
        none = pair.predicted is None
        head = [words(pair.measured.quantity), conditions(pair.measured)]
        lines += [
            "",
            ", ".join(filter(None, head)),
            _short(f"  measured   {show(pair.measured.record(), unit)}"),
            _short(f"  predicted  {'none' if none else show(pair.predicted, unit)}"),  # type: ignore[arg-type]
        ]
        if any(told):
            lines.append(f"  error      {', '.join(filter(None, told))}")
        lines += textwrap.wrap(
            pair.verdict, width(), initial_indent="  verdict    ", subsequent_indent=" " * 13
        )
    notes = dict.fromkeys(p.locked for p in pairs if p.locked)
    lines += ["", *notes] if notes else []
    flags = _flags([pair.measured for pair in pairs])
    if flags:
        lines += ["", "Doubts (! the number must not be trusted)", *flags]
    goes = [pair.goes for pair in pairs if pair.goes is not None]
    if goes:
        lines += ["", *_decided(goes)]
    return (
        "\n".join(line.rstrip() for line in [*lines, "", *textwrap.wrap(CAUTION, width())]) + "\n"
    )


def error_text(pair: Comparison) -> str:
    """Return how far a prediction is off."""
    if pair.error is None:
        return ""
    if pair.measured.unit == "deg" or pair.measured.value == 0.0:
        return f"{pair.error:+.1f} {pair.measured.unit}"
    return f"{round(100.0 * pair.error) + 0:+d} %"


def _decided(goes: Sequence[tuple[bool, bool]]) -> list[str]:
    """Return the go/no-go table; false go apart, because it costs a mould."""
    found = decisions(goes)
    share = found.false_go_share
    lines = [
        "Beats or not, predicted against measured",
        f"  go, and it goes: {found.go}    no-go, and it does not: {found.no_go}",
        f"  FALSE GO: {found.false_go}    false no-go: {found.false_no_go}",
    ]
    if share is not None:
        value, low, high = share
        lines.append(
            f"  false go among predicted go: {100 * value:.0f} % (95 %: {100 * low:.0f} to "
            f"{100 * high:.0f})"
        )
    return lines


def designs_page(by_design: Sequence[tuple[str, Sequence[Comparison]]]) -> str:
    """Return the agreement of several designs: ratio with limits, ranks, go and no-go."""
    lines = [f"{len(by_design)} designs"]
    names = dict.fromkeys(p.measured.quantity for _, pairs in by_design for p in pairs)
    for name in names:
        predicted, measured = [], []
        for _, pairs in by_design:
            for pair in pairs:
                if pair.measured.quantity != name or pair.error is None or pair.predicted is None:
                    continue
                p, m = pair.predicted.value, pair.measured.value
                if not isinstance(p, int | float) or m is None or not pair.measured.clear:
                    continue
                if p > 0.0 and m > 0.0:
                    predicted.append(float(p))
                    measured.append(float(m))
        lines += _agreement_lines(name, predicted, measured)
    goes = [p.goes for _, pairs in by_design for p in pairs if p.goes is not None]
    if goes:
        lines += ["", *_decided(goes)]
    return "\n".join(lines) + "\n"


def _agreement_lines(name: str, predicted: list[float], measured: list[float]) -> list[str]:
    if len(predicted) < 2:
        return [f"{words(name)}: {len(predicted)} pair, too few for limits of agreement"]
    found = limits_of_agreement(predicted, measured)
    lines = [
        "",
        f"{words(name)}, {found.n} pairs, predicted over measured",
        f"  bias x{found.bias:.3f} (95 % sure: {found.bias_ci[0]:.3f} to "
        f"{found.bias_ci[1]:.3f}); 95 % of designs lie between",
        f"  x{found.low:.3f} ({found.low_ci[0]:.3f} to {found.low_ci[1]:.3f}) and "
        f"x{found.high:.3f} ({found.high_ci[0]:.3f} to {found.high_ci[1]:.3f})",
    ]
    ranks = rank_correlation(predicted, measured)
    if ranks is not None:
        lines.append(f"  rank correlation (Spearman) {ranks[0]:.2f}, p = {ranks[1]:.2g}")
    if found.n < FEWEST_DESIGNS:
        lines.append(f"  a sketch: {FEWEST_DESIGNS} or more pairs are needed for firm limits")
    return lines


def records_json(version: str, title: str, records: Sequence[Record], **more: object) -> str:
    """Return records as the one JSON object of the contract, with further keys as given."""
    body = {
        "simsoft": version,
        "case": title,
        "records": [record.as_json() for record in records],
        "warnings": [],
        **more,
    }
    return json.dumps(body, allow_nan=False, indent=1)


def measured_json(version: str, title: str, found: Sequence[Measured]) -> str:
    """Return measurements as JSON, the doubts as warnings."""
    doubts = [
        f"{m.run}: {flag.word}: {flag.text}" for m in found for flag in m.flags if flag.severe
    ]
    records = [m.record(str(m.at.get("part", ""))) for m in found]
    return records_json(version, title, records, warnings=list(dict.fromkeys(doubts)))


def compared_json(
    version: str, title: str, pairs: Sequence[Comparison], lock: str, digest: str | None = None
) -> str:
    """Return comparisons as JSON: measured records, and under ``comparisons`` both sides.

    ``digest`` is the SHA-256 of the text of the one case that was compared.
    """
    found = [
        {
            "quantity": pair.measured.quantity,
            "at": dict(pair.measured.at),
            "measured": pair.measured.value,
            "u_measured": pair.measured.u,
            "predicted": None if pair.predicted is None else pair.predicted.as_json(),
            "error": pair.error,
            "normalised_error": None if pair.error_n == float("inf") else pair.error_n,
            "judgement": pair.judgement,
            "verdict": pair.verdict,
            "locked": pair.locked,
            "beats": None if pair.goes is None else list(pair.goes),
        }
        for pair in pairs
    ]
    records = [pair.measured.record(str(pair.measured.at.get("part", ""))) for pair in pairs]
    return records_json(
        version, title, records, comparisons=found, prediction=lock, case_sha256=digest
    )
