"""Mirrored pairs: what one of a pair does in a symmetric scenario, the other does in the mirror.

The plane of symmetry is y = 0. Gravity and a sheared stream lie in it; a stream that crosses it,
or hook wire beside it, tells the two apart.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import Any

import numpy as np

from simsoft.case.scenario import Scenario
from simsoft.geometry.stations import mirror_image
from simsoft.lure.parts import Strip
from simsoft.results.outcome import Outcome
from simsoft.results.record import Record, Value
from simsoft.results.result import Closest, Shape, Trace

POLAR = np.array([1.0, -1.0, 1.0])  # places, directions, forces
AXIAL = -POLAR  # moments
VECTORS = ("tip_position",)  # quantities that are polar vectors


def twin_of(strip: Strip, scenario: Scenario, solved: Iterable[Strip]) -> Strip | None:
    """Return the solved strip whose mirror image a strip is in all that its answers feel.

    Parameters
    ----------
    strip : Strip
    scenario : Scenario
    solved : iterable of Strip, solved in this scenario already

    Returns
    -------
    Strip, or None where there is none or the scenario is not symmetric about y = 0
    """
    if scenario.stream_direction[1] != 0.0 or not _wire_in_plane(strip):
        return None
    for other in solved:
        image = replace(other, name=strip.name, part=mirror_image(other.part), wire=None)
        if image == replace(strip, wire=None) and other.wire is strip.wire:
            return other
    return None


def _wire_in_plane(strip: Strip) -> bool:
    wire = strip.wire
    return wire is None or not (np.any(wire.start[:, 1]) or np.any(wire.end[:, 1]))


def mirrored_record(record: Record, part: str) -> Record:
    """Return a record of one of a pair as that of the other, called ``part``."""
    if record.quantity not in VECTORS:
        return replace(record, part=part)
    ends = (record.value, record.low, record.high)
    value, low, high = (_turned_over(end) for end in ends)
    return replace(record, part=part, value=value, low=low, high=high)


def _turned_over(value: Value) -> Value:
    if not isinstance(value, tuple):
        return value
    x, y, z = value
    return x, -y, z


def mirrored_outcome(outcome: Outcome, name: str, part: str) -> Outcome:
    """Return the outcome of strip ``name`` as that of its mirror image, called ``part``."""
    return Outcome(
        answers={
            key: replace(answer, value=_turned_over(answer.value)) if key[0] in VECTORS else answer
            for key, answer in outcome.answers.items()
        },
        shapes=[_shape(shape, part) for shape in outcome.shapes],
        traces=[_trace(trace, part) for trace in outcome.traces],
        closest=[_closest(closest, part) for closest in outcome.closest],
        surfaces=[replace(s, part=part, places=s.places * POLAR) for s in outcome.surfaces],
        warnings=[_renamed(warning, name, part) for warning in outcome.warnings],
        distrusted=dict(outcome.distrusted),
        own_error=dict(outcome.own_error),
        slopes=outcome.slopes,
        part=part,
    )


def _renamed(warning: str, name: str, part: str) -> str:
    """Return a warning, which begins with the strip's name, about another one."""
    return part + warning[len(name) :] if warning.startswith(name) else warning


def _shape(shape: Shape, part: str) -> Shape:
    return replace(shape, part=part, **_reflected(shape, "centreline", "edges", "paddle", "root"))


def _reflected(item: object, *names: str) -> dict[str, Any]:
    """Return the named arrays (..., 3) of polar vectors as the mirror shows them."""
    return {name: getattr(item, name) * POLAR for name in names}


def _trace(trace: Trace, part: str) -> Trace:
    # The wake is told along the thickness axis, which comes out reversed (``mirror_image``).
    return replace(
        trace,
        part=part,
        moment=trace.moment * AXIAL,
        wake=-trace.wake,
        **_reflected(trace, "tip", "tangent", "force", "strobe", "edges", "paddle", "root"),
    )


def _closest(closest: Closest, part: str) -> Closest:
    names = ("centreline", "edges", "paddle", "on_part", "on_wire")
    return replace(closest, part=part, **_reflected(closest, *names))
