"""Positions of a plate worth a picture: its modes in water, the phases of its beat."""

from __future__ import annotations

import numpy as np

from simsoft.bodies.answers.trace import Outline
from simsoft.bodies.plate.equilibrium import extent
from simsoft.bodies.plate.setup import PlateReady
from simsoft.core.arrays import Array
from simsoft.results.result import Surface
from simsoft.solvers.limit_cycle import Beat
from simsoft.solvers.modes import Modes

SWING = 0.25  # of the length, largest displacement of a mode as drawn
PHASES = 6  # of a beat


def mode_surfaces(ready: PlateReady, modes: Modes, scenario: str) -> list[Surface]:
    """Return the rest shape with each mode laid on it."""
    model = ready.model
    rest = ready.still.state[:, :3]
    found = []
    for i, (frequency, kind) in enumerate(zip(modes.frequency, modes.kind, strict=True)):
        move = modes.shape[:, i].reshape(-1, 6)[:, :3]
        size = SWING * extent(model) / float(np.linalg.norm(move, axis=1).max())
        label = f"mode {i + 1}, {kind}, {frequency:.3g} Hz"
        places = np.stack([rest, rest + size * move])
        found.append(
            Surface(scenario, ready.strip.name, "mode", label, model.planform.quads, places)
        )
    return found


def plate_outline(ready: PlateReady) -> Outline:
    """Return what stands about the middle line of a plate."""
    place = ready.model.state[ready.model.planform.edges[0], :3]
    across = place[1] - place[0]
    reach = _reach(ready)
    unit = across / float(np.linalg.norm(across))
    return Outline(ready.model.root, unit, np.vstack([reach[:1], reach]))


def _reach(ready: PlateReady) -> Array:
    """Return how far both edges lie from the middle line along the width (rows, 2) [m]."""
    planform = ready.model.planform
    chord = planform.plan[planform.edges] - planform.plan[planform.centre][:, None]
    across = chord[:, 1] - chord[:, 0]
    across /= np.linalg.norm(across, axis=1)[:, None]
    return np.asarray(np.einsum("rsx,rx->rs", chord, across))


def beat_surface(ready: PlateReady, beat: Beat, scenario: str, speed: float) -> Surface:
    """Return the phases of a march's last beat: middle line and both edges, straight across."""
    march = beat.march
    last = march.window[1] - 1
    begin = int(np.searchsorted(march.time, march.time[last] - 1.0 / beat.frequency))
    rows = np.linspace(begin, last, PHASES + 1).astype(int)[:-1]
    reach = _reach(ready)
    reach = np.column_stack([reach[:, 0], np.zeros(len(reach)), reach[:, 1]])
    line = march.shapes[rows] - ready.model.root
    places = line[:, :, None] + reach[None, :, :, None] * march.width_axes[rows][:, :, None]
    count = len(reach)
    row = 3 * np.arange(count - 1)[:, None] + np.arange(2)
    quads = np.stack([row, row + 3, row + 4, row + 1], axis=2).reshape(-1, 4)
    label = f"beat at {speed:.3g} m/s, {beat.frequency:.3g} Hz"
    name = ready.strip.name
    return Surface(scenario, name, "beat", label, quads, places.reshape(len(rows), -1, 3))
