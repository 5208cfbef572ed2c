"""Runs of real tails -> what they say about modulus, thickness, wake and drag, with bands."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from simsoft.aquarium.compare import SAME_WARMTH, grouped
from simsoft.aquarium.inference.forward import Surrogate, build_surrogate, exact_at, priors
from simsoft.aquarium.inference.posterior import (
    Posterior,
    corrected_posterior,
    infer,
    jacobian_of,
    wider,
)
from simsoft.aquarium.measured import Measured
from simsoft.case.measured import ProfileValue
from simsoft.case.model import Case
from simsoft.core.arrays import Array
from simsoft.core.errors import InputError
from simsoft.core.quantities import words
from simsoft.engine.uncertainty import MODEL_ERROR
from simsoft.lure.parts import DEFAULT_FREQUENCY, DWELL_FREQUENCY, assemble

Progress = Callable[[str, float], None]

# How far off the model itself may be after calibration, one sigma (judgement, screening).
MODEL_SHARE = {
    "natural_frequency": 0.03,
    "flap_frequency": 0.05,
    "start_frequency": 0.08,
    "start_speed": 0.10,
    "stroke": 0.15,
    "fold_back": 0.10,
}
OTHER_SHARE = 0.10
# A beat of a hung paddle jumps between motions: so much wider, bands of 95 % hold 93 to 100 of 100
# inputs in fits that are not refused, and one fit in four still alarms (test_calibrate.py).
HUNG = 2.15
# The error of a paddle's model as one sigma: what holds four fifths spans 2.56 of them.
FOUR_FIFTHS = 2.56
PADDLE_SHARE = {
    quantity: math.log(high / low) / FOUR_FIFTHS for quantity, (low, high) in MODEL_ERROR.items()
}
USABLE = tuple(MODEL_SHARE)
# Start, beat and stroke of one tail bend in the inputs, each its own way, and slopes at one place
# hold less than they seem to: bands of 95 % held 83 to 95 of 100 trials, so much wider 90 or more
# of those not refused (tests/aquarium/test_joint.py).
BENT = ("start_speed", "stroke")
JOINT = 1.4
SURROGATE_LIMIT = 0.03  # relative error past which the surrogate is built again where it led
PROFILE_NAMES = {"modulus": "youngs_modulus", "thickness": "thickness_bias"}
WORTH_KEEPING = 0.9  # posterior over prior band; wider ones stay the default


@dataclass(frozen=True)
class TaughtDesign:
    """One case with the measurements that can teach something."""

    case: Case
    measured: tuple[Measured, ...]


@dataclass(frozen=True)
class Calibration:
    """A posterior with what is needed to use and to judge it.

    Attributes
    ----------
    posterior : Posterior
    designs : tuple of Design
    model : function of z giving all predictions (logarithms)
    rows : tuple of (int, Measured), design and measurement behind every number of ``data``
    data, scatter : array (M,)
    surrogate_error : float, largest relative error of the surrogate at the posterior's mean,
        infinite where the solver has no value for a measurement there
    left_out : tuple of str, measurements that could not be used, and why
    """

    posterior: Posterior
    designs: tuple[TaughtDesign, ...]
    model: Callable[[Array], Array]
    rows: tuple[tuple[int, Measured], ...]
    data: Array
    scatter: Array
    surrogate_error: float
    left_out: tuple[str, ...] = ()


@dataclass(frozen=True)
class _Piece:
    """A surrogate with the rows it answers."""

    owner: int
    case: Case
    wanted: tuple[Measured, ...]
    surrogate: Surrogate


def usable(
    designs: Sequence[tuple[Case, Sequence[Measured]]],
) -> tuple[list[TaughtDesign], list[str]]:
    """Return the designs with the measurements that can be used, and why others are not."""
    kept, left_out = [], []
    teach_nothing: dict[str, None] = {}
    for case, found in designs:
        good = []
        for m in grouped(found):
            if m.quantity not in USABLE:
                teach_nothing[words(m.quantity)] = None
                continue
            if m.value is None or m.value <= 0.0:
                continue
            if not m.clear:
                doubts = ", ".join(flag.word for flag in m.flags if flag.severe)
                left_out.append(f"{m.run} {m.quantity}: in doubt ({doubts})")
                continue
            good.append(m)
        if good:
            kept.append(TaughtDesign(case, tuple(good)))
    if teach_nothing:
        able = ", ".join(words(name) for name in USABLE)
        left_out.append(f"{', '.join(teach_nothing)}: only {able} teach about the inputs")
    return kept, left_out


def calibrate_designs(
    designs: Sequence[tuple[Case, Sequence[Measured]]], progress: Progress | None = None
) -> Calibration:
    """Return what the runs of one or more designs say about their common inputs.

    Inputs are shared: all designs are poured from one compound in one shop. Priors are the bands
    of the defaults, or of the profile a case names.

    Raises
    ------
    InputError
        No measurement can be used.
    """
    kept, left_out = usable(designs)
    if not kept:
        why = f": {'; '.join(left_out)}" if left_out else ""
        raise InputError(f"no measurement of a beat, stroke, start or natural frequency{why}")
    pieces = _pieces(kept, {}, progress)
    result = _solve(kept, pieces, left_out)
    if result.surrogate_error > SURROGATE_LIMIT:
        z = dict(zip(result.posterior.names, result.posterior.mean.tolist(), strict=True))
        again = _pieces(kept, z, progress)
        # A measurement the solver has no value for there would only drop out of the fit.
        if all((new.surrogate.known >= old.surrogate.known).all()
               for new, old in zip(again, pieces, strict=True)):  # fmt: skip
            result = _solve(kept, again, left_out)
    return result


def _pieces(
    designs: Sequence[TaughtDesign], centre: dict[str, float], progress: Progress | None
) -> list[_Piece]:
    groups: list[tuple[int, Case, list[Measured]]] = []
    for owner, design in enumerate(designs):
        waters: dict[object, list[Measured]] = {}
        for m in design.measured:
            warm = m.at.get("temperature")
            key = None if warm is None else round(float(warm) / SAME_WARMTH)
            waters.setdefault((key, m.at.get("salinity"), m.at.get("part")), []).append(m)
        groups += [(owner, design.case, wanted) for wanted in waters.values()]
    pieces = []
    for count, (owner, case, wanted) in enumerate(groups):

        def report(label: str, share: float, n: int = count) -> None:
            if progress is not None:
                progress(label, (n + share) / len(groups))

        pieces.append(
            _Piece(owner, case, tuple(wanted), build_surrogate(case, wanted, centre, report))
        )
    return pieces


def _solve(
    designs: Sequence[TaughtDesign], pieces: list[_Piece], left_out: list[str]
) -> Calibration:
    names = tuple(dict.fromkeys(n for piece in pieces for n in piece.surrogate.names))
    index = [[names.index(n) for n in piece.surrogate.names] for piece in pieces]
    known = [piece.surrogate.known for piece in pieces]
    lost = [
        f"{m.run} {m.quantity}: the solver has no value to compare with"
        for piece in pieces
        for m, there in zip(piece.wanted, piece.surrogate.known, strict=True)
        if not there
    ]
    if not any(there.any() for there in known):
        raise InputError(f"the solver has no value for any measurement: {'; '.join(lost)}")

    def model(z: Array) -> Array:
        return np.concatenate(
            [p.surrogate(z[i])[k] for p, i, k in zip(pieces, index, known, strict=True)]
        )

    rows = tuple(
        (p.owner, m) for p in pieces for m, k in zip(p.wanted, p.surrogate.known, strict=True) if k
    )
    data = np.array([math.log(float(m.value or 1.0)) for _, m in rows])
    paddles = [has_paddle(design.case) for design in designs]
    scatter = np.array([relative_scatter(m, paddle=paddles[owner]) for owner, m in rows])

    def exact(mean: Array) -> Array:
        z = dict(zip(names, mean.tolist(), strict=True))
        return np.concatenate(
            [exact_at(p.case, p.wanted, z)[k] for p, k in zip(pieces, known, strict=True)]
        )

    posterior, error = corrected_posterior(names, model, exact, data, scatter)
    beats = any(paddles[owner] and m.quantity in PADDLE_SHARE for owner, m in rows)
    if beats or joint(rows):
        posterior = wider(posterior, HUNG if beats else JOINT, past_prior=beats)
    return Calibration(
        posterior, tuple(designs), model, rows, data, scatter, error, (*left_out, *lost)
    )


def joint(rows: Sequence[tuple[int, Measured]]) -> bool:
    """Return whether a start or a stroke is read together with another answer of its design."""
    kinds: dict[int, set[str]] = {}
    for owner, measured in rows:
        kinds.setdefault(owner, set()).add(measured.quantity)
    return any(len(found) > 1 and found & set(BENT) for found in kinds.values())


def has_paddle(case: Case) -> bool:
    """Return whether a case holds a paddle tail, whose model has a larger error of its own."""
    return any(part.paddle is not None for part in case.parts)


def relative_scatter(measured: Measured, *, paddle: bool = False) -> float:
    """Return the relative standard uncertainty of a measurement with the model's own error."""
    value, u = float(measured.value or 1.0), float(measured.u or 0.0)
    share = MODEL_SHARE.get(measured.quantity, OTHER_SHARE)
    if paddle:
        share = max(share, PADDLE_SHARE.get(measured.quantity, 0.0))
    return math.hypot(u / value, share)


def profile_values(result: Calibration) -> dict[str, ProfileValue]:
    """Return the inputs that the data narrowed, as values of a profile.

    The modulus is given at 5 Hz and the case's water temperature. Inputs about which the data
    say nothing are left out, so that their defaults stand.
    """
    case = result.designs[0].case
    strip = assemble(case).strips[0]
    prior = priors(strip)
    n = len(result.data)
    found: dict[str, ProfileValue] = {}
    names = result.posterior.names
    for name, z, spread in zip(names, result.posterior.mean, result.posterior.spread, strict=True):
        if name not in prior or (spread > WORTH_KEEPING and abs(z) < 0.5):
            continue
        value, low, high = (prior[name].value(float(z + s * spread)) for s in (0.0, -1.0, 1.0))
        basis = f"posterior of {n} measurements of {len(result.designs)} designs, Laplace"
        if name == "modulus":
            rate = (DEFAULT_FREQUENCY / DWELL_FREQUENCY) ** strip.rate_exponent
            found["youngs_modulus"] = ProfileValue(
                value * rate,
                low * rate,
                high * rate,
                basis,
                DEFAULT_FREQUENCY,
                case.water.temperature,
            )
            continue
        limited = [max(0.0, x) if name != "thickness" else x for x in (value, low, high)]
        found[PROFILE_NAMES.get(name, name)] = ProfileValue(
            limited[0], limited[1], limited[2], basis
        )
    return found


@dataclass(frozen=True)
class LeftOut:
    """One design predicted from the others.

    Attributes
    ----------
    title, quantity : str
    measured, predicted : float, SI
    factor : float, one standard deviation of the prediction as a factor
    error_n : float, normalised error
    """

    title: str
    quantity: str
    measured: float
    predicted: float
    factor: float
    error_n: float


def leave_one_out(result: Calibration) -> list[LeftOut]:
    """Return every design's numbers predicted from the other designs alone.

    Raises
    ------
    ValueError
        Fewer than two designs.
    """
    if len(result.designs) < 2:
        raise ValueError("two or more designs are needed")
    owner = np.array([d for d, _ in result.rows])
    names = result.posterior.names
    found = []
    for d, design in enumerate(result.designs):
        inside = owner != d
        if not inside.any() or inside.all():
            continue

        def others(z: Array, rows: Array = inside) -> Array:
            return np.asarray(result.model(z)[rows])

        fitted = infer(names, others, result.data[inside], result.scatter[inside])
        slope = jacobian_of(result.model, fitted.mean)
        values = result.model(fitted.mean)
        for row in np.flatnonzero(~inside):
            spread = math.sqrt(float(slope[row] @ fitted.covariance @ slope[row]))
            total = math.hypot(spread, float(result.scatter[row]))
            found.append(
                LeftOut(
                    design.case.title,
                    result.rows[int(row)][1].quantity,
                    math.exp(float(result.data[row])),
                    math.exp(float(values[row])),
                    math.exp(spread),
                    abs(float(values[row] - result.data[row])) / (2.0 * total),
                )
            )
    return found
