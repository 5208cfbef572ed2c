"""Bands: every uncertain input moved to its low and high end, one at a time.

The spread of an answer upward and downward is the root sum of squares of the changes that
single inputs make in that direction. The difference of a run of half the elements and twice the
step to the full one, divided by three as a second order scheme asks, is the discretisation error
and one more contribution. The inputs of stiff paddles are moved on the standard mesh with twice
the step, those of everything else on the coarse one. Inputs are taken as independent.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from simsoft.case.model import Part
from simsoft.case.wishes import SHARES
from simsoft.lure.parts import Strip
from simsoft.properties.coefficients import RIGGING_SCATTER
from simsoft.results.outcome import Answer, At, Key, Outcome
from simsoft.results.record import Record, Value, distrusted, is_upper_bound
from simsoft.scenarios.retrieve.marcher import alike

ModelError = Mapping[str, tuple[float, float]]

STILL = "still"
# What the model of a paddle itself leaves open, low and high over the value, computed here: for
# beat and stroke what holds four fifths of resolved over reduced among the open runs that both
# call beating, for the start the ramps and the resolved beats below it (validation/RESOLVED.md).
MODEL_ERROR = {
    "start_speed": (0.5, 1.4),
    "flap_frequency": (0.86, 1.08),
    "stroke": (0.55, 1.45),
    "edge_to_edge": (0.82, 1.12),
}
# The same for stems that go on in soft body, of the open baits; their start as that of tails, since
# one ramp alone stands behind it. Edges hold nine tenths of the open baits, eight of ten sealed.
SOFT_ERROR = MODEL_ERROR | {
    "flap_frequency": (0.88, 1.07),
    "stroke": (0.68, 1.38),
    "edge_to_edge": (0.8, 1.24),
}
FOLD_BACK_ERROR = (-4.1, 2.1)  # [deg] resolved less reduced, four fifths of the open runs
RICHARDSON = 3.0  # 2^2 - 1, halved mesh and step of a second-order scheme
OF_RIM = ("rim_force", "rim_rate", "rim_damping", "rim_inertia", "force_growth")
OF_WAKE = ("centre_of_pressure", "strouhal", "wake_growth", "wake_moment")
SIGNED = ("drag", "hook_clearance", "sink_rate", "attitude", "turn_rate")
WITHOUT_BAND = (
    *("tip_position", "energy_residual", "stability_limit", "verdict"),
    *("momentum_residual", "trim_sink_rate", "trim_attitude"),
)
DOUBTED = ("start_speed", "flap_frequency", "stroke", "sink_rate")
MESHED = ("start_speed", "flap_frequency", "stroke", "fold_back")
INPUT_WORDS = {
    "modulus": "durometer",
    "thickness": "thickness",
    "density": "density",
    "loss_factor": "material damping",
    "set_fraction": "packaging set",
    "normal_drag": "drag coefficient",
    "skin_friction": "skin friction",
    "paddle_normal_force": "paddle drag",
    "centre_of_pressure": "centre of pressure",
    "rotary_damping": "rotary damping",
    "strouhal": "Strouhal number",
    "wake_growth": "wake growth",
    "wake_moment": "wake moment",
    "munk": "edge suction",
    "rim_force": "side force on the rim",
    "rim_rate": "rate of the wake",
    "rim_damping": "damping of the wake",
    "rim_inertia": "water carried along",
    "force_growth": "growth of the drag with the stroke",
    "stall_angle": "stall",
    "shading": "shading by the body",
    "cross_drag": "body drag",
    "axial_drag": "drag end on",
    "body_friction": "body friction",
    "body_added": "turning moment of the water on the body",
    "rig_drag": "hook and weight drag",
    "weight_mass": "weight casting",
    "discretisation": "discretisation",
    "rigging": "rigging by hand",
    "model": "the model of the paddle",
}


@dataclass(frozen=True)
class Variant:
    """One input of a strip moved to one end of its band."""

    name: str
    value: float


def variants(strip: Strip) -> list[Variant]:
    """Return the runs that the bands of a strip need: two for each uncertain input."""
    result = []
    for name, band in strip.inputs.items():
        result += [Variant(name, end) for end in (band.low, band.high) if end != band.value]
    return result


def felt(strip: Strip, full: Outcome) -> list[Variant]:
    """Return the runs that can change an answer.

    A plate's wake changes nothing in whose rest shape none is shed, a paddle's none in still water.
    """
    asked = {quantity for quantity, _ in full.answers}
    idle: tuple[str, ...] = ()
    if strip.part.paddle is not None:
        idle = () if asked & {"start_speed", "stroke"} else OF_RIM
    elif strip.solved_as == "plate" and "shedding_rate" not in asked:
        idle = OF_WAKE
    return [variant for variant in variants(strip) if variant.name not in idle]


def model_error(part: Part) -> ModelError:
    """Return low and high end of what the model of a part leaves open, over the value.

    Empty for a part without a paddle, whose model has no error of its own in a band.
    """
    if part.paddle is None:
        return {}
    return SOFT_ERROR if part.soft_ahead > 0.0 else MODEL_ERROR


def with_bands(
    scenario: str,
    part: str,
    full: Outcome,
    coarse: Outcome,
    moved: Sequence[tuple[Variant, Outcome]],
    unmoved: Outcome,
    of_model: ModelError | None = None,
) -> list[Record]:
    """Return the records of a strip: values of the full run, bands from the moved ones.

    Parameters
    ----------
    full : Outcome at the central inputs, full discretisation
    coarse : Outcome at the central inputs, half the elements and twice the step
    moved : pairs of variant and its outcome
    unmoved : Outcome at the central inputs, discretised as the moved ones
    of_model : dict or None, ends of the model's own error over the value (``model_error``)
    """
    records = []
    for (quantity, at), answer in full.answers.items():
        record, shares = _banded(
            (scenario, part, quantity, at), full, coarse, moved, unmoved, of_model or {}
        )
        why = full.distrusted.get((quantity, at))
        records.append(record if why is None else distrusted(record, why))
        if quantity in DOUBTED and shares:
            records.append(_doubt(scenario, part, quantity, at, shares))
        error = _discretisation(scenario, part, quantity, at, answer, coarse)
        if error is not None:
            records.append(error)
    return records


def _discretisation(
    scenario: str, part: str, quantity: str, at: At, answer: Answer, coarse: Outcome
) -> Record | None:
    """Return the estimated relative discretisation error of a quantity that has a value."""
    base = coarse.answers.get((quantity, at))
    if quantity not in MESHED or base is None:
        return None
    if not isinstance(answer.value, float) or not isinstance(base.value, float):
        return None
    if answer.value <= 0.0:
        return None
    error = abs(base.value - answer.value) / RICHARDSON / answer.value
    basis = "Richardson estimate from half the elements and twice the step"
    where = {"of": quantity, **dict(at)}
    return Record(scenario, part, "discretisation_error", error, None, None, "", basis, where)


def _banded(
    what: tuple[str, str, str, At],
    full: Outcome,
    coarse: Outcome,
    moved: Sequence[tuple[Variant, Outcome]],
    unmoved: Outcome,
    errors: ModelError,
) -> tuple[Record, dict[str, float]]:
    """Return a record, and by input the share of its band's square.

    ``what`` is scenario, part, quantity and conditions; the rest as in ``with_bands``.
    """
    scenario, part, quantity, at = what
    answer = full.answers[quantity, at]

    def record(low: float | None, high: float | None, basis: str, reason: str | None) -> Record:
        return Record(
            scenario, part, quantity, answer.value, low, high, answer.unit, basis, dict(at), reason
        )

    value = answer.value
    key = (quantity, at)
    if quantity in WITHOUT_BAND or not isinstance(value, float):
        return record(None, None, answer.basis, answer.reason), {}
    base, rough = _value(unmoved, key), _value(coarse, key)
    if not isinstance(base, float) or not isinstance(rough, float):
        reason = "no band: the coarse run has no value to compare with"
        return record(None, None, f"{answer.basis}; {reason}", None), {}
    contributions, missing = _contributions(key, base, moved)
    error = abs(rough - value) / RICHARDSON
    contributions["discretisation"] = (-error, error)
    if quantity in errors:
        least, most = errors[quantity]
        contributions["model"] = (value * (least - 1.0), value * (most - 1.0))
    if quantity == "fold_back" and errors and dict(at).get("speed", 0.0):
        contributions["model"] = FOLD_BACK_ERROR
    if quantity == "hook_clearance":
        contributions["rigging"] = (-RIGGING_SCATTER, RIGGING_SCATTER)
    contributions |= full.own_error.get(key, {})
    down = math.sqrt(sum(low**2 for low, _ in contributions.values()))
    up = math.sqrt(sum(high**2 for _, high in contributions.values()))
    low = value - down if quantity in SIGNED else max(0.0, value - down)
    if is_upper_bound(answer.basis):
        low = 0.0
    high: float | None = min(1.0, value + up) if quantity in SHARES else value + up
    basis = answer.basis
    if missing:
        basis += f"; no value at an end of {', '.join(missing)}"
        if quantity == "start_speed":
            high = None
    total = down**2 + up**2
    shares = {
        name: (low_end**2 + high_end**2) / total if total > 0.0 else 0.0
        for name, (low_end, high_end) in contributions.items()
    }
    return record(low, high, basis, None), shares


def _value(outcome: Outcome, key: Key) -> Value:
    """Return what an outcome says to a question, None where it says nothing."""
    answer = outcome.answers.get(key)
    return None if answer is None else answer.value


def other_motions(name: str, full: Outcome, coarse: Outcome) -> list[str]:
    """Return warnings where the coarse run moves otherwise than the full one.

    The bands then belong to another motion than the value.
    """
    told = []
    for (quantity, at), answer in full.answers.items():
        other = coarse.answers.get((quantity, at))
        if quantity != "stroke" or other is None:
            continue
        if not isinstance(answer.value, float) or not isinstance(other.value, float):
            continue
        verdicts = [_value(run, ("verdict", at)) for run in (full, coarse)]
        near = alike(answer.value, other.value) or verdicts[0] == STILL
        if near and verdicts[0] == verdicts[1]:
            continue
        told.append(
            f"{name} at {dict(at)['speed']:.3g} m/s: the coarse mesh behind the bands moves "
            f"otherwise, stroke {1e3 * other.value:.3g} mm: do not trust the bands there"
        )
    return told


def _contributions(
    key: Key, base: float, moved: Sequence[tuple[Variant, Outcome]]
) -> tuple[dict[str, tuple[float, float]], list[str]]:
    """Return what each input does downward and upward, and inputs that left no value."""
    result: dict[str, tuple[float, float]] = {}
    missing: list[str] = []
    for variant, outcome in moved:
        answer = outcome.answers.get(key)
        if answer is None or not isinstance(answer.value, float):
            word = INPUT_WORDS[variant.name]
            if word not in missing:
                missing.append(word)
            continue
        change = answer.value - base
        low, high = result.get(variant.name, (0.0, 0.0))
        result[variant.name] = (min(low, change), max(high, change))
    return result, missing


def _doubt(scenario: str, part: str, quantity: str, at: At, shares: dict[str, float]) -> Record:
    """Return the record that names the input most of a band comes from."""
    name = max(shares, key=lambda key: shares[key])
    return Record(
        scenario,
        part,
        "doubt",
        INPUT_WORDS[name],
        None,
        None,
        "",
        "largest share of the band's square, inputs moved one at a time",
        {"of": quantity, "share": round(shares[name], 3), **dict(at)},
    )
