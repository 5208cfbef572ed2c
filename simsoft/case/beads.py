"""Rim bead and rib of a flat part, as stated."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Beads:
    """Bead along a part's free outline and rib along its middle line; zero where there is none.

    Attributes
    ----------
    rim_width, rib_width : float [m], of the bead from the outline inward, of the rib across
    rim_height, rib_height : float [m], added to the thickness, half on each face
    """

    rim_width: float = 0.0
    rim_height: float = 0.0
    rib_width: float = 0.0
    rib_height: float = 0.0

    def __bool__(self) -> bool:
        """Tell whether there is a bead or a rib."""
        return self.rim_width > 0.0 or self.rib_width > 0.0
