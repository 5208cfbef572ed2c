"""A claw's outline: neck, short transition, pad that narrows a little at its tip."""

from __future__ import annotations

from simsoft.case.model import Taper

# Shares read off typical trade claws (36 x 16 mm pad on a 5 x 1.5 mm neck): common practice, no
# source. Neck sizes are shares of the pad's root width and thickness, lengths of the whole claw.
NECK_LENGTH_SHARE = 0.20
NECK_WIDTH_SHARE = 0.33
NECK_THICKNESS_SHARE = 0.90
TRANSITION_SHARE = 0.10
TIP_FROM = 0.80
TIP_WIDTH_SHARE = 0.60


def claw_tapers(
    length: float,
    width: Taper,
    thickness: Taper,
    neck_length: float | None = None,
    neck_width: float | None = None,
    neck_thickness: float | None = None,
) -> tuple[Taper, Taper]:
    """Return width and thickness along the whole claw.

    Parameters
    ----------
    length : float [m], neck and pad together
    width, thickness : Taper [m], of the pad; a pad of constant width narrows at its tip, a
        tapered one is taken as given
    neck_length, neck_width, neck_thickness : float or None [m], None for the trade's shares

    Returns
    -------
    width, thickness : Taper [m], stations 0..1 over ``length``
    """
    neck = NECK_LENGTH_SHARE if neck_length is None else neck_length / length
    pad_from = neck + min(TRANSITION_SHARE, 0.5 * (1.0 - neck))
    root_width, root_thickness = width.values[0], thickness.values[0]
    if neck_width is None:
        neck_width = NECK_WIDTH_SHARE * root_width
    if neck_thickness is None:
        neck_thickness = NECK_THICKNESS_SHARE * root_thickness
    if set(width.values) == {root_width}:
        width = Taper((0.0, TIP_FROM, 1.0), (root_width, root_width, TIP_WIDTH_SHARE * root_width))
    return (
        _on_neck(width, neck_width, neck, pad_from),
        _on_neck(thickness, neck_thickness, neck, pad_from),
    )


def _on_neck(pad: Taper, size: float, neck: float, pad_from: float) -> Taper:
    """Return the pad's taper squeezed into ``pad_from``..1, after a neck of constant size."""
    stations = (0.0, neck, *(pad_from + s * (1.0 - pad_from) for s in pad.stations[:-1]), 1.0)
    return Taper(stations, (size, size, *pad.values))
