"""Body families: the usual profile of height and width from nose to tail.

The shares are read off typical trade bodies (common practice, no source). They only stand in
for a table the user has not measured: a stated profile replaces them.
"""

from __future__ import annotations

from dataclasses import dataclass

from simsoft.case.model import BodyFamily, Taper


@dataclass(frozen=True)
class BodyProfile:
    """Shares of the largest height and width at stations along the body.

    Attributes
    ----------
    at : tuple of float [-], from nose 0 to tail 1
    height, width : tuple of float [-], over the largest
    width_share : float [-], largest width over largest height where no width is stated
    """

    at: tuple[float, ...]
    height: tuple[float, ...]
    width: tuple[float, ...]
    width_share: float


_WORM = (0.50, 0.90, 1.00, 0.95, 0.60, 0.40)
_STICK = (0.60, 0.90, 1.00, 1.00, 0.90, 0.60)
_GRUB = (0.50, 0.95, 1.00, 0.90, 0.55)
_CREATURE = (0.45, 0.90, 1.00, 0.95, 0.60)
FAMILIES: dict[BodyFamily, BodyProfile] = {
    "worm": BodyProfile((0.0, 0.08, 0.2, 0.6, 0.9, 1.0), _WORM, _WORM, 1.0),
    "stick-worm": BodyProfile((0.0, 0.08, 0.25, 0.75, 0.92, 1.0), _STICK, _STICK, 1.0),
    "swim-bait": BodyProfile(
        (0.0, 0.15, 0.35, 0.6, 0.85, 1.0),
        (0.30, 0.75, 1.00, 0.85, 0.45, 0.30),
        (0.35, 0.90, 1.00, 0.75, 0.40, 0.30),
        0.75,
    ),
    "grub": BodyProfile((0.0, 0.12, 0.3, 0.7, 1.0), _GRUB, _GRUB, 1.0),
    "creature": BodyProfile((0.0, 0.15, 0.4, 0.75, 1.0), _CREATURE, _CREATURE, 1.0),
    "flat-sided": BodyProfile(
        (0.0, 0.2, 0.45, 0.7, 0.9, 1.0),
        (0.30, 0.80, 1.00, 0.80, 0.45, 0.30),
        (0.40, 0.85, 1.00, 0.85, 0.50, 0.35),
        0.30,
    ),
}


def profiles(
    family: BodyFamily, height: float | Taper, width: float | Taper | None
) -> tuple[Taper, Taper]:
    """Return height and width along a body.

    Parameters
    ----------
    family : str
    height : float [m], the largest, spread by the family's shares, or a Taper taken as it is
    width : the same, or None for the family's share of the largest height

    Returns
    -------
    height, width : Taper [m]
    """
    shares = FAMILIES[family]
    tallest = height if isinstance(height, float) else max(height.values)
    if width is None:
        width = shares.width_share * tallest
    return _spread(height, shares.at, shares.height), _spread(width, shares.at, shares.width)


def _spread(size: float | Taper, at: tuple[float, ...], shares: tuple[float, ...]) -> Taper:
    if isinstance(size, Taper):
        return size
    return Taper(at, tuple(size * share for share in shares))
