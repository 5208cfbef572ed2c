"""The text of a tolerance run: how often the brief is met, what costs most, which corner fails."""

from __future__ import annotations

from collections.abc import Sequence

from simsoft.design.chance_map import ChanceMap
from simsoft.design.distribution import Scatter
from simsoft.design.paired import Change
from simsoft.design.sensitivity import Agreement, Corner, Effect, SobolIndex
from simsoft.design.tolerance import Probability, Sample, Trial, by_clause, convergence, probability
from simsoft.report.text.brief import brief_lines, folded
from simsoft.report.text.change import change_sentence
from simsoft.report.text.sweep import aligned, short
from simsoft.report.units import LengthUnit, decimals, rounded, told_in, user_unit

MOST_EFFECTS = 6
SMALLEST_SHARE = 0.02


def tolerance_text(
    trial: Trial,
    samples: Sequence[Sample],
    found: Sequence[Effect],
    corner: Corner,
    agreed: Agreement | None,
    indices: Sequence[SobolIndex],
    moved: Sequence[Change] = (),
) -> str:
    """Return the whole text of a tolerance run."""
    unit = trial.case.length_unit
    whole = probability([s.passes for s in samples])
    lines = folded(
        f"{trial.case.title}: the brief is met by {percent(whole)} of {whole.count} samples."
    )
    lines += [
        f"  {percent(share):<24} {told_in(clause.name, unit)}"
        for clause, share in by_clause(trial, samples)
    ]
    lines += [
        line for change in moved for line in folded(f"  {change_sentence(change)}", "", "    ")
    ]
    lines += ["", "Costs most (share of what moves the margin, rank correlation):"]
    shown = [e for e in found[:MOST_EFFECTS] if e.share >= SMALLEST_SHARE]
    lines += [f"  {100 * e.share:3.0f} %  {e.input.name} ({_direction(e)})" for e in shown]
    lines += ["", *corner_lines(corner, unit)]
    steps = convergence(samples)
    path = ", ".join(f"{100 * p.value:.0f} % of {p.count}" for p in steps)
    lines += ["", *folded(f"Convergence: {path}.")]
    if agreed is not None:
        lines += folded(
            f"Screening without a march; {agreed.same} of {agreed.count} samples judged alike by "
            "the march."
        )
    failed = [s for s in samples if s.reason]
    if failed:
        lines += folded(
            f"{len(failed)} samples could not be run (count as missed): {failed[0].reason}"
        )
    if indices:
        lines += ["", *_sobol_lines(indices)]
    return "\n".join(lines) + "\n"


def map_text(found: ChanceMap | None) -> str:
    """Return a map as text, nothing without one."""
    if found is None:
        return ""
    across, up = (short(path).replace("_", " ") for path in found.paths)
    rows = [[f"{up} by {across}", *found.across]]
    for value, line in reversed(list(zip(found.up, found.chance, strict=True))):
        rows.append([value, *(share_text(chance) for chance in line)])
    lines = ["", *folded(map_title(found)), "", *aligned(rows)]
    lines += [line for reason in found.refused for line in folded(f"-: {reason}")]
    return "\n".join(lines) + "\n"


def map_title(found: ChanceMap) -> str:
    """Return what a map shows, with how many samples each cell holds."""
    count = max((c.count for row in found.chance for c in row if c is not None), default=0)
    return f"Share of samples that meet the brief, {count} in each cell"


def share_text(found: Probability | None) -> str:
    """Return a share in whole per cent, a dash where the case refuses the values."""
    return "-" if found is None else f"{100 * found.value:.0f} %"


def percent(found: Probability | None) -> str:
    """Return a probability with its interval in per cent; None was not sampled."""
    if found is None:
        return "not sampled"
    return f"{100 * found.value:.0f} % ({100 * found.low:.0f} to {100 * found.high:.0f} %)"


def _direction(effect: Effect) -> str:
    return "more helps" if effect.rank > 0.0 else "more hurts"


def setting_text(item: Scatter, value: float, unit: LengthUnit) -> str:
    """Return an input at a value in the user's units."""
    if item.kind == "temperature":
        return f"{item.name} {value:+.1f} K"
    if item.kind == "speed":
        return f"{item.name} {100 * (value - 1):+.0f} %"
    if item.name.endswith("thickness"):
        factor, name = user_unit("m", unit)
        return f"{item.name} {value * factor:+.2f} {name}"
    factor, name = user_unit(item.unit, unit)
    return f"{item.name} {rounded(value * factor, decimals(value * factor))} {name}".rstrip()


def corner_lines(corner: Corner, unit: LengthUnit) -> list[str]:
    """Return what happens in the corner of the inputs that cost most."""
    lines = folded(corner_sentence(corner, unit))
    return lines if corner.sample.reason else lines + brief_lines(corner.sample.findings, unit)


def corner_sentence(corner: Corner, unit: LengthUnit) -> str:
    """Return the corner, and whether the brief is still met there."""
    where = " with ".join(setting_text(item, value, unit) for item, value in corner.settings)
    if corner.sample.reason:
        return f"Worst corner: {where}: could not be run; {corner.sample.reason}"
    word = "still meets the brief" if corner.sample.passes else "fails"
    return f"Worst corner (one in twenty each): {where}: {word}."


def _sobol_lines(indices: Sequence[SobolIndex]) -> list[str]:
    rows = [["Sobol index of the margin", "first order", "95 %", "total", "95 %"]]
    for item in indices[:MOST_EFFECTS]:
        rows.append(
            [
                item.input.name,
                f"{item.first:.2f}",
                f"{item.first_ends[0]:.2f} to {item.first_ends[1]:.2f}",
                f"{item.total:.2f}",
                f"{item.total_ends[0]:.2f} to {item.total_ends[1]:.2f}",
            ]
        )
    return aligned(rows)
