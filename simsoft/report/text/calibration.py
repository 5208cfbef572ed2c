"""What a calibration and a test plan found, as text."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Sequence

from simsoft.aquarium.inference.calibrate import JOINT, Calibration, LeftOut, joint
from simsoft.aquarium.inference.next_run import Advice
from simsoft.aquarium.inference.posterior import disagreements, identifiability
from simsoft.report.text.width import width

SHOWN = 6
POOR = 0.10  # relative, of the fast model against the solver
UNITS = {
    "youngs_modulus": (1e-3, "kPa"),
    "density": (1.0, "kg/m3"),
    "thickness_bias": (1e3, "mm"),
    "temperature_slope": (100.0, "%/K"),
    "loss_slope": (100.0, "%/K"),
}


def wrapped(text: str, indent: str = "  ") -> list[str]:
    """Return a line wrapped to the width of a page, what follows indented."""
    return textwrap.wrap(text, width(), initial_indent=indent, subsequent_indent="    ")


def values_page(
    values: Sequence[tuple[str, tuple[float, float, float], float | None]],
) -> list[str]:
    """Return the lines of a profile's values: name, (value, low, high) in SI, frequency [Hz]."""
    lines = []
    for name, numbers, frequency in values:
        factor, unit = UNITS.get(name, (1.0, ""))
        shown = [f"{factor * x:.4g}" for x in numbers]
        at = f" at {frequency:.3g} Hz" if frequency else ""
        lines.append(
            f"  {name.replace('_', ' ')}: {shown[0]} {unit} ({shown[1]} to {shown[2]}){at}".rstrip()
        )
    return lines


def calibration_page(
    result: Calibration, words: dict[str, str], left_out: Sequence[LeftOut] = ()
) -> list[str]:
    """Return the lines of a calibration from runs: fit, identifiability, disagreement."""
    count = len(result.designs)
    lines = [f"{len(result.data)} measurements of {count} design{'s' if count > 1 else ''}"]
    for (_, m), data, fitted in zip(result.rows, result.data, result.posterior.fitted, strict=True):
        at = f" at {float(m.at['speed']):.3g} m/s" if "speed" in m.at else ""
        lines.append(
            f"  {m.quantity.replace('_', ' ')}{at}: fitted over measured "
            f"x{math.exp(fitted - data):.3f}"
        )
    if math.isfinite(result.surrogate_error):
        off = f"{100 * result.surrogate_error:.1f} %"
        lines.append(f"  fast model against the solver where the data led: {off}")
    for why in result.left_out:
        lines += wrapped(f"not used: {why}")
    if joint(result.rows):
        lines += wrapped(
            "start, beat and stroke of one tail are read together: bands are taken "
            f"{JOINT:g} times as wide as the fit says, because its slopes hold at one place only"
        )
    lines += ["", "What the data say"]
    for line in identifiability(result.posterior, words):
        lines += wrapped(line)
    against = disagreements(result.posterior, words) + poor_model(result)
    if against:
        lines += ["", "DISAGREEMENT"]
        for line in against:
            lines += textwrap.wrap(line, width(), initial_indent="  ! ", subsequent_indent="    ")
    if left_out:
        lines += ["", "Each design predicted from the others alone"]
        for one in left_out:
            lines += wrapped(
                f"{one.title}: {one.quantity.replace('_', ' ')} x"
                f"{one.predicted / one.measured:.3f} of the measured, E_n {one.error_n:.2f}"
            )
    return lines


def poor_model(result: Calibration) -> list[str]:
    """Return a line where the fast model is not the solver at the values found: a refusal."""
    if result.surrogate_error <= POOR:
        return []
    if not math.isfinite(result.surrogate_error):
        return [
            "the solver has no value for a measurement at these values (a tail that does not beat, "
            "or has no start): do not use them; look at single runs with compare first"
        ]
    return [
        f"the solver is {100 * result.surrogate_error:.0f} % off the fast model at these values: "
        "do not use them; look at single runs with compare first"
    ]


def shrinkage_line(before: float, after: float) -> str:
    """Return how the band of the still-water frequency shrank; factors of one sigma."""
    return f"Band of the natural frequency: x/: {before:.2f} before, x/: {after:.2f} after"


def plan_page(
    advice: Sequence[Advice],
    pairs: Sequence[tuple[float, int]],
    scatter: float,
    words: dict[str, str],
) -> str:
    """Return which runs narrow what, and how many repeats show which difference.

    Parameters
    ----------
    advice : sequence of Advice
    pairs : sequence of (difference, repeats)
    scatter : float, relative, from run to run
    words : dict, inputs in plain words
    """
    lines: list[str] = []
    for one in advice:
        lines += [f"{one.target}: now x/: {one.factor:.2f}; afterwards"]
        if one.jumps:
            lines += wrapped(
                f"at one end of {', '.join(words.get(n, n) for n in one.jumps)} another motion "
                "sets in: the doubt is larger than this, film this speed"
            )
        singles = [c for c in one.choices if len(c.labels) == 1][:SHOWN]
        doubles = [c for c in one.choices if len(c.labels) == 2][: SHOWN // 2]
        for c in [*singles, *doubles]:
            gone = f"x/: {c.factor:.2f} ({100 * (1 - c.left):.0f} % of the doubt gone)"
            lines += wrapped(f"{gone}  {' and '.join(c.labels)}")
        lines.append("")
    shown = ", ".join(f"{100 * d:.0f} %: {n}" for d, n in pairs)
    lines += wrapped(
        f"Runs of each of two tails that show a difference (95 % sure, 80 % power, "
        f"{100 * scatter:.0f} % from run to run): {shown}",
        "",
    )
    return "\n".join(lines) + "\n"
