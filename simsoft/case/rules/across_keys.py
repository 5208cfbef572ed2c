"""What goes with what in a case file: checks across keys, on the tables as the user wrote them.

These work on the raw tables and skip what they cannot read, so that they report beside the field
checks and a file's problems are all listed at once.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any, get_args

from simsoft.case.brief import check_brief
from simsoft.case.model import HELD_WITHIN, PartKind
from simsoft.case.paddle_outlines import PADDLE_OUTLINES
from simsoft.case.rules.beads import check_beads
from simsoft.case.rules.drawn import check_clamp, check_outline
from simsoft.case.rules.scenario import check_scenario
from simsoft.case.rules.whole import check_whole, length_of
from simsoft.case.seen import check_seen
from simsoft.case.wording import Place, Problem, given

# Keys that only some kinds of part have, with the reason given to the user.
_ONLY = (
    {
        "diameter": ("leg", "only a leg has a diameter; give `width` and `thickness`"),
        "fork_angle": ("fork-tail", "only a fork-tail has lobes"),
    }
    | {
        f"neck_{key}": ("claw", "only a claw has a neck")
        for key in ("length", "width", "thickness")
    }
    | {
        f"paddle_{key}": ("paddle-tail", "only a paddle-tail has a paddle")
        for key in ("shape", "diameter", "width", "height", "thickness", "angle", "offset")
    }
    | {
        f"body_{key}": ("paddle-tail", "only a paddle-tail is told what stands ahead of it")
        for key in ("height", "width")
    }
)
_PADDLE_LOADS = (
    "paddle_normal_force",
    "centre_of_pressure",
    "rotary_damping",
    "munk",
    "rim_force",
    "rim_rate",
    "rim_damping",
    "rim_inertia",
    "force_growth",
)
_WAKE_LOADS = ("centre_of_pressure", "strouhal", "wake_growth", "wake_moment")
_PLATES = ("strip", "ribbon", "fork-tail", "claw")  # kinds that may bend as plates
_DUROMETER_ONLY = ("static_factor", "rate_exponent", "temperature_slope")
# Below this sine the width axis cannot be told from the direction (about 6 degrees).
_PARALLEL = 0.1
# A longer neck leaves no pad to speak of: common practice, no source.
LONGEST_NECK = 0.7


def check(raw: dict[str, Any]) -> list[Problem]:
    """Return the problems of keys that contradict, miss or exclude each other."""
    found: list[Problem] = []
    for key, table_rule in (("water", _water), ("material", _material)):
        table = raw.get(key)
        if isinstance(table, dict):
            found.extend(table_rule(table))
    for key, entry_rule in (("parts", _part), ("scenarios", check_scenario)):
        tables = raw.get(key)
        if isinstance(tables, list):
            found.extend(_names(key, tables))
            for number, entry in enumerate(tables):
                if isinstance(entry, dict):
                    found.extend(entry_rule(entry, (key, number)))
    found.extend(check_whole(raw))
    found.extend(check_brief(raw))
    found.extend(check_seen(raw))
    return found


def _water(table: dict[str, Any]) -> Iterator[Problem]:
    for key, other in (("density", "viscosity"), ("viscosity", "density")):
        if key in table and other not in table:
            yield Problem(("water", other), f"missing; it is needed beside `{key}`")
    if "salinity" in table and ("density" in table or "viscosity" in table):
        yield Problem(
            ("water", "salinity"),
            f"{given(table['salinity'])} contradicts `density` and `viscosity`; "
            "give salinity, or density and viscosity",
        )


def _material(table: dict[str, Any]) -> Iterator[Problem]:
    if "durometer" not in table and "youngs_modulus" not in table:
        yield Problem(
            ("material",),
            'no stiffness is given; `durometer` (such as "50 OO") or `youngs_modulus` '
            '(such as "120 kPa") is needed',
        )
    if "durometer" in table and "youngs_modulus" in table:
        yield Problem(
            ("material", "youngs_modulus"),
            f"{given(table['youngs_modulus'])} contradicts `durometer`; only one of the two "
            "is allowed",
        )
    if "loss_factor" in table and "kelvin_voigt_time" in table:
        yield Problem(
            ("material", "kelvin_voigt_time"),
            f"{given(table['kelvin_voigt_time'])} contradicts `loss_factor`; only one of the "
            "two is allowed",
        )
    if "youngs_modulus" in table:
        for key in _DUROMETER_ONLY:
            if key in table:
                yield Problem(
                    ("material", key),
                    f"{given(table[key])} contradicts `youngs_modulus`, which is taken as it is; "
                    "allowed with `durometer` only",
                )


def _names(key: str, tables: list[Any]) -> Iterator[Problem]:
    seen: dict[str, int] = {}
    for number, table in enumerate(tables):
        label = table.get("name") if isinstance(table, dict) else None
        if not isinstance(label, str):
            continue
        if label in seen:
            yield Problem(
                (key, number, "name"),
                f"{given(label)} is already the name of {key}[{seen[label] + 1}]; "
                "each name is allowed once",
            )
        else:
            seen[label] = number


def _part(table: dict[str, Any], place: Place) -> Iterator[Problem]:
    kind = table.get("kind")
    yield from _axes(table, place)
    yield from _mirrored(table, place)
    if isinstance(kind, str) and kind in get_args(PartKind):
        yield from _kind_keys(table, kind, place)
        if kind == "paddle-tail":
            yield from _paddle(table, place)
            yield from _body_ahead(table, place)
        if kind == "claw":
            yield from _claw(table, place)


def _body_ahead(table: dict[str, Any], place: Place) -> Iterator[Problem]:
    pair = ("body_height", "body_width")
    stated = [key for key in pair if key in table]
    if len(stated) == 1:
        missing = next(key for key in pair if key not in table)
        yield Problem((*place, missing), f"missing; `{stated[0]}` needs it beside itself")


def _kind_keys(table: dict[str, Any], kind: str, place: Place) -> Iterator[Problem]:
    for key, (owner, reason) in _ONLY.items():
        if key in table and kind != owner:
            yield Problem(
                (*place, key), f"{given(table[key])} does not belong to a {kind}; {reason}"
            )
    sizes = ("diameter",) if kind == "leg" else ("width", "thickness")
    if kind == "curl-tail":
        sizes = (*sizes, "arc_angle")
    drawn = [key for key in ("outline", "outline_file") if key in table]
    if drawn:
        yield from check_outline(table, kind, drawn, place)
        sizes = ("thickness",)
    for key in sizes:
        if key not in table:
            yield Problem((*place, key), f"missing; a {kind} needs `{key}`")
    if kind == "leg":
        for key in ("width", "thickness", "section"):
            if key in table:
                text = f"{given(table[key])} does not belong to a leg, which is round"
                yield Problem((*place, key), f"{text}; give `diameter`")
    yield from _bending_model(table, kind, place)
    yield from check_clamp(table, place)
    yield from check_beads(table, kind, place)
    loads = table.get("loads")
    if isinstance(loads, dict) and kind != "paddle-tail":
        for key in (*_PADDLE_LOADS, *_WAKE_LOADS[1:]):
            if key in loads and key not in _WAKE_LOADS:
                reason = "only a paddle-tail has a paddle"
            elif key in loads and (kind not in _PLATES or table.get("model") == "rod"):
                reason = "only a plate sheds a wake"
            else:
                continue
            yield Problem(
                (*place, "loads", key), f"{given(loads[key])} does not belong to a {kind}; {reason}"
            )


def _bending_model(table: dict[str, Any], kind: str, place: Place) -> Iterator[Problem]:
    """What a plate cannot be or carry."""
    if table.get("model") != "plate":
        return
    if kind == "leg" or table.get("section") == "ellipse":
        yield Problem(
            (*place, "model"),
            f"`plate` does not suit a {kind} or a round section; `rod` is allowed",
        )
    for key in ("follower_force", "tip_moment"):
        if key in table:
            yield Problem(
                (*place, key), f'{given(table[key])} acts on rods only; allowed with model = "rod"'
            )


def _paddle(table: dict[str, Any], place: Place) -> Iterator[Problem]:
    shape = table.get("paddle_shape", "disc")
    if not isinstance(shape, str) or shape not in PADDLE_OUTLINES:
        return
    own = PADDLE_OUTLINES[shape].keys
    needed = (*own, "paddle_thickness")
    for key in needed:
        if key not in table:
            yield Problem((*place, key), f"missing; a paddle of shape `{shape}` needs `{key}`")
    homes: dict[str, list[str]] = {}
    for word, outline in PADDLE_OUTLINES.items():
        for key in outline.keys:
            homes.setdefault(key, []).append(f'"{word}"')
    for key, words in homes.items():
        if key not in own and key in table:
            yield Problem(
                (*place, key),
                f"{given(table[key])} does not belong to a paddle of shape `{shape}`; "
                f"allowed with paddle_shape = {' or '.join(words)} only",
            )
    yield from _carried(table, place)


def _carried(table: dict[str, Any], place: Place) -> Iterator[Problem]:
    """A paddle that bends is held where its stem ends: the two must meet."""
    height = length_of(table.get("paddle_diameter", table.get("paddle_height")))
    offset = length_of(table.get("paddle_offset"))
    if table.get("model") != "plate" or height is None or offset is None:
        return
    farthest = 0.5 * HELD_WITHIN * height
    if abs(offset) > farthest:
        yield Problem(
            (*place, "paddle_offset"),
            f"{given(table['paddle_offset'])} puts the stem's end near to the rim or off the "
            f"paddle, which a plate hangs on; at most {1e3 * farthest:.3g} mm is allowed",
        )


def _claw(table: dict[str, Any], place: Place) -> Iterator[Problem]:
    neck, length = (length_of(table.get(key)) for key in ("neck_length", "length"))
    if neck is not None and length is not None and neck > LONGEST_NECK * length * (1.0 + 1e-9):
        yield Problem(
            (*place, "neck_length"),
            f"{given(table['neck_length'])} leaves no room for the pad; at most "
            f"{LONGEST_NECK:.0%} of the `length` is allowed",
        )


def _mirrored(table: dict[str, Any], place: Place) -> Iterator[Problem]:
    """A pair whose image falls on itself is one part counted twice."""
    position = table.get("position", ["0 mm"] * 3)
    direction = _numbers(table.get("direction", [1, 0, 0]))
    if table.get("mirrored") is not True or direction is None:
        return
    aside = length_of(position[1]) if isinstance(position, list) and len(position) == 3 else None
    if aside == 0.0 and direction[1] == 0.0:
        yield Problem(
            (*place, "mirrored"),
            "`true` puts both parts of the pair in one place; a `position` or `direction` "
            "with a part to the side (y) is needed",
        )


def _axes(table: dict[str, Any], place: Place) -> Iterator[Problem]:
    direction = _numbers(table.get("direction", [1, 0, 0]))
    width_axis = _numbers(table.get("width_axis", [0, 0, 1]))
    if direction is None or width_axis is None:
        return
    if sine(direction, width_axis) < _PARALLEL:
        shown = given(table["width_axis"]) if "width_axis" in table else "`[0, 0, 1]` (the default)"
        yield Problem(
            (*place, "width_axis"),
            f"{shown} is parallel to `direction`; a direction across it is needed, "
            "such as [0, 1, 0]",
        )


def sine(first: tuple[float, ...], second: tuple[float, ...]) -> float:
    """Return the sine [-] of the angle between two vectors of any length."""
    norm = math.hypot(*first) * math.hypot(*second)
    cross = (
        first[1] * second[2] - first[2] * second[1],
        first[2] * second[0] - first[0] * second[2],
        first[0] * second[1] - first[1] * second[0],
    )
    return math.hypot(*cross) / norm


def _numbers(value: Any) -> tuple[float, ...] | None:
    """Return three sane numbers, or None where the field check complains already."""
    if not isinstance(value, list) or len(value) != 3:
        return None
    if not all(isinstance(x, int | float) and abs(x) <= 1e6 for x in value):
        return None
    return tuple(map(float, value)) if max(map(abs, value)) >= 1e-6 else None
