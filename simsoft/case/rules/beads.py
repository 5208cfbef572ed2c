"""What goes with a rim bead or a rib."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from simsoft.case.rules.whole import length_of
from simsoft.case.wording import Place, Problem, given

# Flat parts, on whose faces a bead can stand.
BEADED = ("strip", "ribbon", "curl-tail", "fork-tail", "claw")
# Of the width at which beads on both sides meet; a bead wider than this is the part's thickness.
MOST = {"rim": 0.5, "rib": 1.0}


def check_beads(table: dict[str, Any], kind: str, place: Place) -> Iterator[Problem]:
    """A bead has a width and a height, stands on a flat part and leaves a web."""
    for name, share in MOST.items():
        keys = [f"{name}_{size}" for size in ("width", "height")]
        stated = [key for key in keys if key in table]
        for key in stated:
            if kind not in BEADED or table.get("section") == "ellipse":
                yield Problem(
                    (*place, key),
                    f"{given(table[key])} does not suit a {kind} or a round section; a flat "
                    f"{', '.join(BEADED[:-1])} or {BEADED[-1]} is allowed",
                )
        if len(stated) == 1:
            (missing,) = set(keys) - set(stated)
            yield Problem((*place, missing), f"missing; it is needed beside `{stated[0]}`")
        bead, widest = length_of(table.get(keys[0])), _widest(table.get("width"))
        if bead is not None and widest is not None and bead >= share * widest:
            yield Problem(
                (*place, keys[0]),
                f"{given(table[keys[0]])} leaves no web; less than {share:g} of the `width` is "
                "allowed",
            )


def _widest(width: Any) -> float | None:
    """Return the largest width [m] stated, None where the field check complains."""
    if isinstance(width, dict):
        width = width.get("value")
    sizes = [length_of(item) for item in (width if isinstance(width, list) else [width])]
    known = [size for size in sizes if size is not None]
    return max(known) if known and len(known) == len(sizes) else None
