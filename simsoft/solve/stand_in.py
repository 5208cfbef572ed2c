"""Where a rod stands in for a plate: said in one line, with the reason."""

from __future__ import annotations

from collections.abc import Sequence

from simsoft.lure import Strip

FREE = (
    "a lure free in the water carries its parts as chains of links, which plates have no place in"
)


def stand_in(strips: Sequence[Strip], scenario: str, why: str) -> str:
    """Return that the plates among strips are taken as rods in a scenario; empty where none is.

    A paddle that bends is taken as stiff on its stem.
    """
    plates = [strip for strip in strips if strip.model == "plate"]
    said = []
    for kind, words in ((False, "taken as a rod"), (True, "its paddle taken as stiff")):
        names = [strip.name for strip in plates if (strip.part.paddle is not None) is kind]
        if names:
            said.append(f"{', '.join(names)}: {words}")
    if not said:
        return ""
    return f"{scenario}: {'; '.join(said)}: {why}; held or in a stream it is solved as a plate"
