"""How far each uncertain input moves the logarithm of an answer, with its sign."""

from __future__ import annotations

import math
from collections.abc import Sequence

from simsoft.engine.uncertainty import Variant
from simsoft.results.outcome import Key, Outcome

# Inputs that one pot or one water gives to all parts; the others are a part's own.
SHARED = ("modulus", "loss_factor", "density")


def input_name(name: str, owner: str) -> str:
    """Return the name of an input of a part among those of the whole lure."""
    return name if name in SHARED else f"{owner} {name}"


def slopes_of(
    owner: str,
    base: Outcome,
    moved: Sequence[tuple[Variant, Outcome]],
) -> dict[Key, dict[str, float]]:
    """Return the change of the logarithm of every answer above zero for one half band of an input.

    Parameters
    ----------
    owner : str, name of the part, or of the whole
    base : Outcome at the central inputs, discretised as the moved ones
    moved : pairs of variant and its outcome

    Notes
    -----
    Half of the change from end to end. An input with one end only, or with no answer at one of
    them, has no slope: what it moves stays with the answer's own doubt, as does what both ends
    move to one side.
    """
    found: dict[Key, dict[str, float]] = {}
    for key, answer in base.answers.items():
        if not isinstance(answer.value, float) or answer.value <= 0.0:
            continue
        ends: dict[str, list[tuple[float, float]]] = {}
        for variant, outcome in moved:
            other = outcome.answers.get(key)
            if other is None or not isinstance(other.value, float) or other.value <= 0.0:
                continue
            place = (variant.value, math.log(other.value / answer.value))
            ends.setdefault(variant.name, []).append(place)
        rows = {
            input_name(name, owner): 0.5 * (max(pair)[1] - min(pair)[1])
            for name, pair in ends.items()
            if len(pair) == 2
        }
        if rows:
            found[key] = rows
    return found
