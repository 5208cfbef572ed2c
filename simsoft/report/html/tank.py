"""Pages of the aquarium: what was measured, compared, learned, and what to measure next."""

from __future__ import annotations

import base64
from collections.abc import Sequence
from pathlib import Path

from simsoft.aquarium.compare import Comparison
from simsoft.aquarium.inference.calibrate import Calibration
from simsoft.aquarium.inference.next_run import Advice
from simsoft.aquarium.measured import Measured
from simsoft.core.quantities import words as spoken
from simsoft.report.html.document import grid, page_section, stacked
from simsoft.report.html.markup import Html, tag
from simsoft.report.html.sheet import Cell, Sheet
from simsoft.report.html.spans import Span, spans
from simsoft.report.text.calibration import UNITS
from simsoft.report.text.tank import conditions, error_text
from simsoft.report.units import LengthUnit, low_value_high, show, user_unit

MOST_CHOICES = 10
LONGEST_NAME = 44  # characters
AGREES, DISAGREES = "agrees", "disagrees"  # judgements of a comparison
CONDITIONS = ("speed", "temperature", "view")


def measured_sheet(
    found: Sequence[Measured], title: str, pictures: Sequence[Path] = (), unit: LengthUnit = "mm"
) -> Sheet:
    """Return measurements with their doubts; pictures are PNG files, such as kymographs."""
    clear = sum(m.clear for m in found)
    doubtful = sum(m.value is not None and not m.clear for m in found)
    rows = [
        [
            spoken(m.quantity),
            "none" if m.value is None else show(m.record(), unit),
            str(m.n),
            conditions(m) or "-",
            "clear" if m.clear else (m.reason or "do not use it: see the doubts"),
        ]
        for m in found
    ]
    head = ("quantity", "value (68 %)", "n", "at", "may it be used")
    sections = [page_section("values", "Measured", stacked(head, rows))]
    flags = dict.fromkeys((f.severe, f"{f.word}: {f.text}") for m in found for f in m.flags)
    if flags:
        told = [
            tag("p", "Do not use: " if severe else "Worth knowing: ", text, class_="warning")
            for severe, text in sorted(flags, reverse=True)
        ]
        sections.append(page_section("doubts", "Doubts", told))
    if pictures:
        shown = [tag("figure", picture(path)) for path in pictures]
        sections.append(page_section("seen", "Kymograph and tip", shown))
    methods = dict.fromkeys(f"{spoken(m.quantity)}: {m.method}" for m in found if m.method)
    sections.append(page_section("methods", "Methods", tag("ul", (tag("li", m) for m in methods))))
    word = f"{clear} of {len(found)} clear"
    class_ = "no-go" if not clear else "marginal" if doubtful else "go"
    standing = "A number with a severe doubt is not to be used, and compare does not judge it."
    return Sheet(word, class_, title, standing, sections, (), (), bool(pictures))


def picture(path: Path) -> Html:
    """Return a PNG file as a picture inside the page."""
    body = base64.b64encode(path.read_bytes()).decode()
    return tag("img", src=f"data:image/png;base64,{body}", alt=path.stem.replace("_", " "))


def compared_sheet(
    pairs: Sequence[Comparison], title: str, unit: LengthUnit = "mm", lock: str = ""
) -> Sheet:
    """Return predictions with their bands, and the measured points on them."""
    rows = [
        [
            f"{spoken(p.measured.quantity)} {conditions(p.measured)}".strip(),
            "none" if p.predicted is None else show(p.predicted, unit),
            show(p.measured.record(), unit),
            error_text(p) or "-",
            "-" if p.error_n is None else f"{p.error_n:.2f}",
            p.verdict,
        ]
        for p in pairs
    ]
    head = ("what", "predicted", "measured", "error", "E_n", "verdict")
    sections = []
    drawn = list(_by_quantity(pairs, unit))
    if drawn:
        sections.append(page_section("bands", "Predicted bands, measured points", drawn))
    sections.append(page_section("pairs", "One by one", stacked(head, rows)))
    counts = {word: sum(p.judgement == word for p in pairs) for word in (AGREES, DISAGREES)}
    word = f"{counts[AGREES]} of {len(pairs)} agree"
    class_ = "no-go" if counts[DISAGREES] else "go" if counts[AGREES] == len(pairs) else "marginal"
    table = ("quantity", *CONDITIONS, "unit", "predicted", "predicted_low", "predicted_high",
             "measured", "u_68", "error", "E_n", "verdict")  # fmt: skip
    out = [_pair_row(p) for p in pairs]
    standing = f"Prediction: {lock or 'not locked beforehand'}."
    return Sheet(word, class_, title, standing, sections, table, out)


def _pair_row(pair: Comparison) -> list[Cell]:
    record, m = pair.predicted, pair.measured
    predicted: list[Cell] = [None] * 3
    if record is not None:
        predicted = [_plain(record.value), _plain(record.low), _plain(record.high)]
    at = [m.at.get(key) for key in CONDITIONS]
    return [m.quantity, *at, m.unit, *predicted, m.value, m.u, pair.error, pair.error_n,
            pair.verdict]  # fmt: skip


def _plain(value: object) -> Cell:
    return value if isinstance(value, float | int | str) else None


def _by_quantity(pairs: Sequence[Comparison], unit: LengthUnit) -> list[Html]:
    """Return a chart for every quantity: the band predicted, the point measured below it."""
    charts = []
    for quantity in dict.fromkeys(p.measured.quantity for p in pairs):
        mine = [p for p in pairs if p.measured.quantity == quantity]
        factor, label = user_unit(mine[0].measured.unit, unit)
        rows = [_pair_span(p, factor) for p in mine if p.measured.value is not None]
        if rows:
            name = spoken(quantity)
            charts.append(spans(rows, f"{name[0].upper()}{name[1:]}", f"[{label}]"))
    legend = tag(
        "p",
        tag("span", tag("span", class_="mark dot"), "predicted, with its band"),
        tag("span", tag("span", class_="mark other"), "measured, with its uncertainty"),
        class_="legend",
    )
    return [tag("div", charts, class_="figures"), legend] if charts else []


def _pair_span(pair: Comparison, factor: float) -> Span:
    m = pair.measured
    value, u = factor * (m.value or 0.0), factor * (m.u or 0.0)
    ends = (None, None, None) if pair.predicted is None else low_value_high(pair.predicted, factor)
    other = (value - u, value, value + u)
    return Span(conditions(m) or pair.judgement, *ends, other=other, told=pair.verdict)


def calibrated_sheet(
    title: str,
    values: Sequence[tuple[str, tuple[float, float, float], float | None]],
    notes: Sequence[str],
    result: Calibration | None,
    words: dict[str, str],
) -> Sheet:
    """Return what the data taught: the profile's values, priors and posteriors.

    Parameters
    ----------
    title : str, of the profile
    values : sequence of name, (value, low, high) in SI, frequency [Hz] or None
    notes : sequence of str, warnings
    result : Calibration or None, of runs
    words : dict, inputs in plain words
    """
    told = [tag("p", note, class_="warning") for note in notes]
    sections = [page_section("notes", "Notes", told)] if told else []
    if values:
        rows = []
        for name, numbers, frequency in values:
            factor, unit = UNITS.get(name, (1.0, ""))
            at = f"{frequency:.3g} Hz" if frequency else ""
            low, high = (f"{factor * x:.4g}" for x in numbers[1:])
            value = f"{factor * numbers[0]:.4g} {unit}".strip()
            rows.append([spoken(name), value, f"{low} to {high}", at])
        table = grid(("value of the profile", "found", "band", "at"), rows, broken=True)
        sections.append(page_section("profile", "Profile", table))
    if result is not None:
        after = result.posterior
        lines = [
            Span(
                words.get(name, name),
                -1.0,
                0.0,
                1.0,
                other=(float(mean - spread), float(mean), float(mean + spread)),
                told=f"doubt {100.0 * spread:.0f} % of what it was",
            )
            for name, mean, spread in zip(after.names, after.mean, after.spread, strict=True)
        ]
        drawn = spans(lines, "Before and after", "standard deviations of the prior")
        legend = tag(
            "p",
            tag("span", tag("span", class_="mark dot"), "before: the documented default"),
            tag("span", tag("span", class_="mark other"), "after the data"),
            class_="legend",
        )
        moved = grid(
            ("input", "moved by", "doubt left"),
            [
                [words.get(n, n), f"{round(m, 2) + 0.0:+.2f} sigma", f"{100.0 * s:.0f} %"]
                for n, m, s in zip(after.names, after.mean, after.spread, strict=True)
            ],
        )
        sections.append(
            page_section("posterior", "Before and after the data", drawn, legend, moved)
        )
    head = ("name", "found", "low", "high", "frequency_hz")
    out: list[list[Cell]] = [[name, *numbers, at] for name, numbers, at in values]
    word = f"{len(values)} values" if values else "nothing learned"
    class_ = "open" if values and not notes else "marginal" if values else "no-go"
    standing = "A case uses the profile by its name; bands hold about two times in three."
    return Sheet(word, class_, title, standing, sections, head, out)


def _cut(text: str) -> str:
    """Return a name as long as a chart of a phone's width holds."""
    return text if len(text) <= LONGEST_NAME else f"{text[:LONGEST_NAME]}…"


def planned_sheet(
    title: str, advice: Sequence[Advice], pairs: Sequence[tuple[float, int]], words: dict[str, str]
) -> Sheet:
    """Return which runs narrow what; ``pairs`` are (difference, repeats)."""
    sections: list[Html] = []
    out: list[list[Cell]] = []
    for place, one in enumerate(advice):
        rows = [
            Span(
                _cut(f"{n}: {' and '.join(c.labels)}"),
                None,
                100.0 * c.left,
                None,
                told=f"x/: {c.factor:.2f}",
            )
            for n, c in enumerate(one.choices[:MOST_CHOICES], 1)
        ]
        drawn = spans(rows, "What a run leaves of the doubt", "doubt left [%]", (0.0, 100.0))
        lead = tag("p", f"Now within a factor of {one.factor:.2f}.")
        jumps = [
            tag("p", f"At one end of {words.get(name, name)} another motion sets in: the doubt is "
                     "larger than this, film this speed.", class_="warning")
            for name in one.jumps
        ]  # fmt: skip
        told = [
            [f"{n}: {' and '.join(c.labels)}", f"{100.0 * c.left:.0f} %"]
            for n, c in enumerate(one.choices[:MOST_CHOICES], 1)
        ]
        table = grid(("run", "doubt left"), told, broken=True)
        sections.append(page_section(f"target-{place}", one.target, lead, *jumps, drawn, table))
        out += [[one.target, " and ".join(c.labels), c.factor, c.left] for c in one.choices]
    repeats = [[f"{100.0 * d:.0f} %", str(n)] for d, n in pairs]
    table = grid(("difference", "runs of each of two tails"), repeats)
    sections.append(page_section("repeats", "Runs that show a difference", table))
    best = advice[0].choices[0] if advice and advice[0].choices else None
    word = "next" if best is not None else "nothing to plan"
    standing = " and ".join(best.labels) if best is not None else ""
    return Sheet(word, "open", title, standing, sections,
                 ("target", "run", "factor_left", "share_left"), out)  # fmt: skip
