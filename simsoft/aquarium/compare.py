"""Measured against predicted: run the case as it was measured, pair the numbers, judge them."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from simsoft.aquarium.agreement import normalised_error, side_uncertainty, verdict
from simsoft.aquarium.files.lock import Lock, locked_before, text_hash
from simsoft.aquarium.measured import At, Measured, pooled
from simsoft.aquarium.predict import material_records
from simsoft.case.model import Case, Scenario
from simsoft.core.quantities import BEAT, REST, answered_by
from simsoft.engine.run import run
from simsoft.lure.parts import assemble
from simsoft.results.record import Record

Progress = Callable[[str, float], None]

SAME_SPEED = 0.02  # relative; runs closer than this are repeats
SAME_WARMTH = 0.25  # [K]
OF_SPEED = answered_by(BEAT, REST)
OF_MATERIAL = ("youngs_modulus", "loss_factor", "density", "temperature_slope", "loss_slope")
NO_SPEED = "not judged: at what speed is not said; # speed_mps in the file or --speed"
NOT_ASKED = "not judged: no scenario of the case predicts it"
NO_BEAT = "no beat"  # how a reason begins where it was looked for and is not there
GOES = ("kicks", "flutters")


@dataclass(frozen=True)
class Comparison:
    """One quantity, measured and predicted under the same conditions.

    Attributes
    ----------
    measured : Measured
    predicted : Record or None
    error : float or None, (predicted - measured)/measured, or the difference [deg]
    error_n : float or None, normalised error
    verdict : str, one of agreement.JUDGEMENTS, a colon, and why
    locked : str, '' or what is known of the lock
    goes : tuple of bool or None, (predicted, measured) 'it beats' at a speed
    """

    measured: Measured
    predicted: Record | None
    error: float | None
    error_n: float | None
    verdict: str
    locked: str = ""
    goes: tuple[bool, bool] | None = None

    @property
    def judgement(self) -> str:
        """The verdict's first words, out of a closed list."""
        return self.verdict.partition(":")[0]


def grouped(found: Sequence[Measured]) -> list[Measured]:
    """Return the measurements with repeats under the same conditions pooled, in their order."""
    groups: list[list[Measured]] = []
    for measured in found:
        for group in groups:
            if _alike(group[0], measured):
                group.append(measured)
                break
        else:
            groups.append([measured])
    return [pooled(group) if len(group) > 1 else group[0] for group in groups]


def _alike(first: Measured, second: Measured) -> bool:
    if first.quantity != second.quantity or (first.value is None) != (second.value is None):
        return False
    if any(first.at.get(key) != second.at.get(key) for key in ("part", "case_id")):
        return False  # runs of two designs are no repeats
    for key, relative, absolute in (
        ("speed", SAME_SPEED, 1e-9),
        ("temperature", 0.0, SAME_WARMTH),
        ("salinity", 0.0, 1e-3),
        ("frequency", 0.1, 1e-9),
        ("head_wind", 0.0, 0.5),
    ):
        a, b = first.at.get(key), second.at.get(key)
        if (a is None) != (b is None):
            return False
        if (
            a is not None
            and b is not None
            and not math.isclose(float(a), float(b), rel_tol=relative, abs_tol=absolute)
        ):
            return False
    return True


def as_measured(case: Case, wanted: Sequence[Measured]) -> Case:
    """Return the case with water and speeds of the measurements, and no scenario they do not need.

    Parameters
    ----------
    case : Case
    wanted : sequence of Measured, all in the same water
    """
    water = case.water
    at = wanted[0].at
    if "temperature" in at:
        water = dataclasses.replace(water, temperature=float(at["temperature"]))
    if "salinity" in at:
        water = dataclasses.replace(water, salinity=float(at["salinity"]))
    names = {m.quantity for m in wanted}
    speeds = tuple(
        sorted({float(m.at["speed"]) for m in wanted if m.quantity in OF_SPEED and "speed" in m.at})
    )
    scenarios = []
    # A plate's march takes its expected beat from the start search, a rod's finds its own.
    rods = all(strip.solved_as == "rod" for strip in assemble(case).strips)
    for scenario in case.scenarios:
        fitted = _fitted(scenario, names, speeds, rods)
        if fitted is not None:
            scenarios.append(fitted)
    return dataclasses.replace(case, water=water, scenarios=tuple(scenarios))


def _fitted(
    scenario: Scenario, names: set[str], speeds: tuple[float, ...], rods: bool
) -> Scenario | None:
    """Return a scenario as far as the measurements need it."""
    if scenario.kind == "hold":
        needed = names & {"natural_frequency", "damping_ratio", "tip_angle", "fold_back"}
        return scenario if needed else None
    if scenario.kind == "retrieve":
        starts = bool(names & {"start_speed", "start_frequency"})
        if not starts and not speeds:
            return None
        return dataclasses.replace(
            scenario,
            speeds=speeds or scenario.speeds,
            onset=starts or (scenario.onset and not rods),
            march=bool(speeds),
        )
    known = {*OF_SPEED, *OF_MATERIAL, "natural_frequency", "damping_ratio", "start_speed"}
    return scenario if names - known else None


def compare_all(
    case: Case,
    found: Sequence[Measured],
    *,
    lock: Lock | None = None,
    progress: Progress | None = None,
) -> list[Comparison]:
    """Return one comparison for every measured quantity.

    Parameters
    ----------
    case : Case
    found : sequence of Measured
    lock : Lock or None, a prediction written down before the test
    progress : function of a label and the share done

    Raises
    ------
    SolveError
        If the case cannot be solved at the measured conditions.
    """
    pairs: list[Comparison] = []
    waters: dict[tuple[float | None, float | None], list[Measured]] = {}
    for measured in grouped(found):
        warm, salt = measured.at.get("temperature"), measured.at.get("salinity")
        key = (
            None if warm is None else round(float(warm) / SAME_WARMTH) * SAME_WARMTH,
            None if salt is None else float(salt),
        )
        waters.setdefault(key, []).append(measured)
    same_case = lock is not None and lock.case_hash == text_hash(case.text)
    for count, wanted in enumerate(waters.values()):

        def report(label: str, share: float, n: int = count) -> None:
            if progress is not None:
                progress(label, (n + share) / len(waters))

        here = as_measured(case, wanted)
        needs_run = any(_from_lock(lock, m, same_case) is None for m in wanted)
        records: Sequence[Record] = material_records(here)
        if needs_run and (here.scenarios or here.body is not None):
            records = [*records, *run(here, report).records]
        pairs += [_pair(m, records, lock, same_case) for m in wanted]
    return pairs


def _from_lock(lock: Lock | None, measured: Measured, same_case: bool) -> Record | None:
    if lock is None or not same_case:
        return None
    return prediction_of(measured, lock.records)


def _pair(
    measured: Measured, records: Sequence[Record], lock: Lock | None, same_case: bool
) -> Comparison:
    note = ""
    predicted = _from_lock(lock, measured, same_case)
    if lock is not None and not same_case:
        note = "not locked: the case is not the one that was locked"
    elif lock is not None and predicted is None:
        note = "not locked: the lock has no such number; computed now from the locked case"
    elif lock is not None:
        note = _lock_note(lock, measured)
        records = lock.records
    predicted = predicted or prediction_of(measured, records)
    found, goes = compare_numbers(measured, predicted), _goes(measured, records)
    if predicted is None and goes == (True, False):
        found = dataclasses.replace(found, verdict=_not_seen(measured))
    return dataclasses.replace(found, locked=note, goes=goes)


def _lock_note(lock: Lock, measured: Measured) -> str:
    day = lock.made.date().isoformat()
    before = locked_before(lock, str(measured.at.get("date", "")))
    if before is None:
        return f"locked {day}; whether the test came later is not told"
    return f"locked {day}, before the test" if before else f"locked {day}, AFTER the test"


def prediction_of(measured: Measured, records: Sequence[Record]) -> Record | None:
    """Return the record that predicts a measured quantity under its conditions, if there is one.

    Conditions that both sides state must agree: speed to 2 %, everything else nearly.
    """
    found = [r for r in records if r.quantity == measured.quantity and _fits(measured, r)]
    part = measured.at.get("part")
    if part is not None:
        found = [r for r in found if r.part == part]
    valued = [r for r in found if isinstance(r.value, int | float)]
    return valued[0] if valued else found[0] if found else None


def _fits(measured: Measured, record: Record) -> bool:
    at: At = record.at
    if measured.quantity in OF_SPEED and ("speed" in at) != ("speed" in measured.at):
        return False
    if at.get("medium", "water") != measured.at.get("medium", "water"):
        return False
    if at.get("mode", 1) != measured.at.get("mode", 1) or at.get("state") == "rest":
        return False
    rates = [float(side["frequency"]) for side in (at, measured.at) if "frequency" in side]
    if len(rates) == 2 and (rates[0] > 0.0) != (rates[1] > 0.0):
        return False  # a modulus at rest and one in motion are two numbers
    return all(
        math.isclose(float(at[key]), float(measured.at[key]), rel_tol=SAME_SPEED, abs_tol=1e-9)
        for key in ("speed", "head_wind")
        if key in at and key in measured.at
    )


def compare_numbers(measured: Measured, predicted: Record | None) -> Comparison:
    """Return the comparison of one measured with one predicted number."""
    if predicted is None:
        speedless = measured.quantity in OF_SPEED and "speed" not in measured.at
        return Comparison(measured, None, None, None, NO_SPEED if speedless else NOT_ASKED)
    value = predicted.value
    if measured.value is None or not isinstance(value, int | float):
        return Comparison(measured, predicted, None, None, _one_sided(measured, predicted))
    u_m = 0.0 if measured.u is None else measured.u
    low = predicted.low if isinstance(predicted.low, int | float) else None
    high = predicted.high if isinstance(predicted.high, int | float) else None
    u_p = side_uncertainty(float(value), low, high, measured.value)
    error_n = None if u_p is None else normalised_error(float(value), measured.value, u_p, u_m)
    if measured.unit == "deg" or measured.value == 0.0:
        error = float(value) - measured.value
    else:
        error = float(value) / measured.value - 1.0
    total = math.hypot(u_p or 0.0, u_m)
    word = verdict(measured.quantity, measured.unit, float(value), measured.value, error_n, total)
    if not measured.clear:
        doubts = ", ".join(flag.word for flag in measured.flags if flag.severe)
        word = f"not judged: the measurement is in doubt ({doubts})"
    return Comparison(measured, predicted, error, error_n, word)


def _one_sided(measured: Measured, predicted: Record) -> str:
    """Return the verdict where one side, or both, has no number."""
    doubts = ", ".join(flag.word for flag in measured.flags if flag.severe)
    if doubts:
        return f"not judged: the measurement is in doubt ({doubts})"
    if measured.value is not None:
        reason = predicted.reason or "no number"
        return f"disagrees: measured, but none is predicted ({reason})"
    if not (measured.reason or "").startswith(NO_BEAT):
        return f"not judged: not measured, {measured.reason}"
    if isinstance(predicted.value, int | float):
        return _not_seen(measured)
    return "agrees: none is predicted and none was seen"


def _not_seen(measured: Measured) -> str:
    return f"disagrees: predicted, but none was seen ({measured.reason})"


def _goes(measured: Measured, records: Sequence[Record]) -> tuple[bool, bool] | None:
    """Return (predicted, measured) whether the tail beats at a speed; None where not told."""
    if measured.quantity != "flap_frequency" or "speed" not in measured.at:
        return None
    if measured.value is None and not (measured.reason or "").startswith(NO_BEAT):
        return None
    speed = float(measured.at["speed"])
    for record in records:
        same = math.isclose(float(record.at.get("speed", -1.0)), speed, rel_tol=SAME_SPEED)
        if record.quantity == "verdict" and isinstance(record.value, str) and same:
            return record.value in GOES, measured.value is not None
    return None
