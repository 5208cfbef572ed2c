"""What a drawn part may and may not have beside its outline, and where it may be held."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from simsoft.case.wording import Place, Problem, given

CLAMPS = ("clamp", "clamp_share")
HELD_ROD = 'a rod is held at its root; allowed with model = "plate"'
_DRAWN = ("strip", "claw")


def check_clamp(table: dict[str, Any], place: Place) -> Iterator[Problem]:
    """A clamp elsewhere than at the root is for drawn plates."""
    keys = [key for key in CLAMPS if key in table]
    for key in keys:
        if table.get("model") != "plate":
            yield Problem((*place, key), f"does not suit this part: {HELD_ROD}")
        if "outline" not in table and "outline_file" not in table:
            yield Problem(
                (*place, key),
                "runs along a drawn part; `outline` or `outline_file` is needed beside it",
            )
    if len(keys) > 1:
        yield Problem((*place, keys[1]), f"contradicts `{keys[0]}`; only one is allowed")


def check_outline(
    table: dict[str, Any], kind: str, drawn: Sequence[str], place: Place
) -> Iterator[Problem]:
    """What a drawn part may and may not have."""
    if kind not in _DRAWN:
        kinds = " or a ".join(_DRAWN)
        yield Problem((*place, drawn[0]), f"does not belong to a {kind}; only a {kinds} is drawn")
    if len(drawn) > 1:
        yield Problem((*place, "outline_file"), "contradicts `outline`; only one is allowed")
    if "holes" in table and "outline_file" in drawn:
        yield Problem(
            (*place, "holes"), "belongs to `outline`; holes of `outline_file` are drawn in the file"
        )
    for key in ("width", "neck_width", "neck_length", "neck_thickness", "arc_angle"):
        if key in table and (key != "arc_angle" or table.get("curl") == "in-plane"):
            yield Problem(
                (*place, key), f"{given(table[key])} contradicts `{drawn[0]}`, which is drawn"
            )
