"""What goes with what in a scenario: every key belongs to the questions it says something about."""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from typing import Any

from simsoft.case import units
from simsoft.case.wording import Place, Problem, given

# Keys that only some kinds of scenario have; the others belong to all.
_ONLY: dict[str, tuple[str, ...]] = {
    "speed": ("retrieve",),
    "duration": ("retrieve", "sink", "hop"),
    "stream_direction": ("retrieve",),
    "shear": ("retrieve",),
    "max_speed": ("retrieve",),
    "modes": ("hold", "retrieve"),
    "free": ("retrieve",),
    "depth": ("sink",),
    "tilt": ("sink",),
    "wanted_sink_rate": ("sink",),
    "wanted_attitude": ("sink",),
    "line": ("sink", "hop"),
    "motion": ("hop",),
    "amplitude": ("hop",),
    "cadence": ("hop",),
    "times": ("hop",),
    "positions": ("hop",),
    "launch_speed": ("cast",),
    "launch_angle": ("cast",),
    "release_height": ("cast",),
    "wind": ("cast",),
    "wind_from": ("cast",),
    "air_temperature": ("cast",),
    "air_pressure": ("cast",),
    "line_drag": ("cast",),
}
_WHY = {
    "hold": "`hold`, which is still water",
    "retrieve": "`retrieve`, a steady stream",
    "sink": "`sink`, a free fall",
    "hop": "`hop`, which moves the line's end",
    "cast": "`cast`, a flight in air",
}
_PATTERN = ("amplitude", "cadence")


def check_scenario(table: dict[str, Any], place: Place) -> Iterator[Problem]:
    """Yield the problems of one scenario as the user wrote it."""
    kind = table.get("kind")
    if not isinstance(kind, str) or kind not in _WHY:
        return
    for key, owners in _ONLY.items():
        if key in table and kind not in owners:
            yield Problem((*place, key), _foreign(table[key], kind, owners))
    for key in ("onset", "march"):
        if table.get(key) is True and kind != "retrieve":
            yield Problem((*place, key), _foreign(True, kind, ("retrieve",)))
    if kind == "retrieve" and "speed" not in table and table.get("onset") is not True:
        yield Problem(
            (*place, "speed"),
            'missing; give speeds such as ["0.2 m/s", "0.4 m/s"], or onset = true to search the '
            "start speed alone",
        )
    if kind == "retrieve":
        yield from _free(table, place)
    if kind == "hop":
        yield from _hop(table, place)
    if "wanted_attitude" in table and "wanted_sink_rate" not in table:
        yield Problem(
            (*place, "wanted_sink_rate"), "missing; it is needed beside `wanted_attitude`"
        )


def _foreign(value: Any, kind: str, owners: tuple[str, ...]) -> str:
    shown = "`true`" if value is True else given(value)
    allowed = " or ".join(f'kind = "{owner}"' for owner in owners)
    return f"{shown} does not belong to {_WHY[kind]}; allowed with {allowed} only"


def _free(table: dict[str, Any], place: Place) -> Iterator[Problem]:
    """The free retrieve is towed through still water, with speeds to be towed at."""
    if table.get("free") is not True:
        return
    for key in ("onset", "march", "max_speed"):
        if table.get(key, False) is not False:
            yield Problem(
                (*place, key),
                f"{given(table[key])} contradicts `free`, which marches at the stated speeds only; "
                "ask for the start speed in a retrieve of its own",
            )
    for key in ("shear", "stream_direction"):
        if key in table:
            yield Problem(
                (*place, key),
                f"{given(table[key])} contradicts `free`, a tow through still water along x; "
                "only one of the two is allowed",
            )
    if "speed" not in table:
        yield Problem((*place, "speed"), "missing; a free retrieve needs speeds to be towed at")


def _hop(table: dict[str, Any], place: Place) -> Iterator[Problem]:
    """The motion is a pattern, or a table of times and positions of the same length."""
    listed = [key for key in ("times", "positions") if key in table]
    if listed:
        for key in ("motion", *_PATTERN):
            if key in table:
                yield Problem(
                    (*place, key),
                    f"{given(table[key])} contradicts `{listed[0]}`, which says the motion point "
                    "by point; only one of the two is allowed",
                )
        for key in ("times", "positions"):
            if key not in table:
                yield Problem((*place, key), f"missing; it is needed beside `{listed[0]}`")
        if len(listed) == 2:
            yield from _motion_table(table["times"], table["positions"], place)
        return
    for key in _PATTERN:
        if key not in table:
            yield Problem(
                (*place, key),
                "missing; a hop needs `amplitude` and `cadence`, or `times` and `positions`",
            )


def _motion_table(times: Any, positions: Any, place: Place) -> Iterator[Problem]:
    if not isinstance(times, list) or not isinstance(positions, list):
        return
    if len(times) != len(positions) or len(times) < 2:
        yield Problem(
            (*place, "positions"),
            f"has {len(positions)} entries and `times` has {len(times)}; both need the same "
            "number, at least two",
        )
    try:
        seconds = [units.parse(item, "s") for item in times if isinstance(item, str)]
    except units.QuantityError:
        return
    if any(after <= before for before, after in itertools.pairwise(seconds)):
        yield Problem(
            (*place, "times"), f"{given(times)} do not rise; each later than the one before"
        )
