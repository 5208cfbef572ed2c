"""What a run was asked, so that two runs can be told apart: sizes, pour, water, settings, digest.

Sizes are those that the run used, with its ``--set`` in them.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from simsoft.design.asked import Case, asked_settings, short_digest
from simsoft.design.stiffness import Ends, Stiffness, stiffness
from simsoft.report.text.brief import folded
from simsoft.report.units import LengthUnit, decimals, rounded, user_unit
from simsoft.results.result import RunResult

NAMED_PARTS = 4  # more are counted
ZERO_CELSIUS = 273.15


def asked_lines(result: RunResult, made: str = "") -> list[str]:
    """Return the lines of what was asked: sizes, pour, water, stiffness, settings, date, digest.

    Parameters
    ----------
    result : RunResult
    made : str, date of the run; nothing leaves it out
    """
    return [line for text in asked_texts(result, made) for line in folded(text, "  ", "    ")]


def asked_texts(result: RunResult, made: str = "") -> list[str]:
    """Return the sentences of what was asked; see `asked_lines`."""
    case = result.case
    texts = [f"Asked: {parts_text(case)}; {_water_text(case)}."]
    bends = stiffness(case)
    if bends is not None:
        texts.append(_stiffness_text(bends, bool(case.seen)))
    changed = asked_settings(case)
    if changed:
        texts.append(f"Set: {'; '.join(changed)}.")
    digest = f"case {short_digest(case)}"
    texts.append(f"{f'Run {made}, ' if made else 'Of '}{digest}.")
    return texts


def parts_text(case: Case) -> str:
    """Return the sizes of body and parts, and the pour."""
    pieces = [_part_text(case, index) for index in range(min(len(case.parts), NAMED_PARTS))]
    if len(case.parts) > NAMED_PARTS:
        pieces.append(f"{len(case.parts) - NAMED_PARTS} more parts")
    if case.body is not None:
        pieces.insert(0, f"body {_size(case.body.length, case.length_unit)} long")
    return "; ".join([*pieces, *filter(None, [_pour_text(case)])])


def _part_text(case: Case, index: int) -> str:
    part, unit = case.parts[index], case.length_unit
    sizes = f"{part.name} {_size(part.length, unit)} long"
    sizes += (
        f", {_sizes(part.width.values, unit)} wide, {_sizes(part.thickness.values, unit)} thick"
    )
    paddle = part.paddle
    if paddle is None:
        return sizes
    face = (paddle.width,) if paddle.shape == "disc" else (paddle.width, paddle.height)
    across = " x ".join(_size(size, unit) for size in face)
    return (
        f"{sizes}, {paddle.shape} {across}, {_size(paddle.thickness, unit)} thick, at "
        f"{math.degrees(paddle.angle):.3g} deg, {_size(paddle.offset, unit)} below"
    )


def _sizes(values: Sequence[float], unit: LengthUnit) -> str:
    ends = dict.fromkeys(_size(value, unit) for value in (values[0], values[-1]))
    return " to ".join(ends)


def _size(length: float, unit: LengthUnit) -> str:
    factor, name = user_unit("m", unit)
    return f"{length * factor:.4g} {name}"


def _pour_text(case: Case) -> str:
    pour, body = case.material, case.body
    salt = pour.salt_fraction if body is None else body.salt_fraction or pour.salt_fraction
    salted = f" with {100 * salt:.3g} % of salt" if salt else ""
    if pour.youngs_modulus is not None:
        return f"modulus stated {1e-3 * pour.youngs_modulus:.4g} kPa{salted}"
    return "" if pour.hardness is None else f"{pour.hardness:g} {pour.hardness_scale}{salted}"


def _water_text(case: Case) -> str:
    water = case.water
    salt = f", {1e3 * water.salinity:g} g/kg of salt" if water.salinity else ""
    return f"water {water.temperature - ZERO_CELSIUS:.4g} degC{salt}"


def _stiffness_text(bends: Stiffness, seen: bool) -> str:
    """Return the modulus used and what the water does to it."""
    modulus = _banded(bends.modulus, 1e-3)
    text = f"Modulus used: {modulus} kPa at {bends.frequency:g} Hz"
    if bends.by_water:
        text += f"; {_banded(bends.against_warm)} times that at 22 degC"
    else:
        text += ", as stated, in water of any temperature"
    text += f"; Poisson's ratio {bends.poisson_ratio:g}"
    return f"{text}; before what was seen." if seen else f"{text}."


def stiffness_json(bends: Stiffness) -> dict[str, object]:
    """Return the modulus used [Pa] and how much stiffer the water makes it, as plain data."""
    value, low, high = bends.modulus
    times, least, most = bends.against_warm
    return {
        "modulus": value,
        "modulus_low": low,
        "modulus_high": high,
        "frequency": bends.frequency,
        "by_water": bends.by_water,
        "against_22_degc": times,
        "against_22_degc_low": least,
        "against_22_degc_high": most,
        "poisson_ratio": bends.poisson_ratio,
    }


def _banded(ends: Ends, factor: float = 1.0) -> str:
    value, low, high = (end * factor for end in ends)
    places = decimals(value, low, high)
    if low == high:
        return rounded(value, places)
    return f"{rounded(value, places)} ({rounded(low, places)} to {rounded(high, places)})"
