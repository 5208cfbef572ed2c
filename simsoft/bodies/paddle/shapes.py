"""Positions of a plate and its stem worth a picture: modes in water, phases of a beat, rest."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from simsoft.bodies.answers.trace import Outline
from simsoft.bodies.paddle.equilibrium import StemRest
from simsoft.bodies.paddle.link import end_of
from simsoft.bodies.paddle.setup import StemReady
from simsoft.bodies.plate.shapes import PHASES, SWING
from simsoft.bodies.rod.shapes import frames_of, reach_of, shape_of
from simsoft.bodies.rod.tangents import turned_by
from simsoft.core.arrays import Array, Integers
from simsoft.geometry.stations import along
from simsoft.results.result import Shape, Surface
from simsoft.solvers.limit_cycle import Beat
from simsoft.solvers.modes import Modes
from simsoft.solvers.time_march import March

TRIAL = 1.0e-3  # of a mode's largest entry, to see how far it moves


def plate_places(ready: StemReady, angle: Array, state: Array) -> Array:
    """Return the places (n, 3) [m] of the plate's nodes from the clamp, lab axes."""
    frame, node = end_of(ready.model.rod, angle)
    return np.asarray(node - ready.model.rod.root + state[:, :3] @ frame.T)


def stem_shape(
    ready: StemReady, rest: StemRest, *, scenario: str, speed: float, label: str
) -> Shape:
    """Return the drawing of stem and bent plate, positions from the clamp [m]."""
    stiff = ready.stiff.rod
    drawn = shape_of(ready.strip, stiff, rest.angle, scenario=scenario, speed=speed, label=label)
    rim = plate_places(ready, rest.angle, rest.state)[ready.model.rim]
    return replace(drawn, paddle=rim)


def _whole(ready: StemReady, centre: Array, side: Array, plate: Array) -> Array:
    """Return the places of plate and stem's edges: ``centre`` (N, 3), ``side`` (N, 3) unit."""
    half = 0.5 * along(ready.strip.part.width, np.linspace(0.0, 1.0, len(centre)))[:, None]
    edges = np.stack([centre - half * side, centre + half * side], axis=1).reshape(-1, 3)
    return np.concatenate([plate, edges])


def _quads(ready: StemReady, rows: int) -> Integers:
    """Return the quadrilaterals of plate and stem as ``_whole`` lays them out."""
    first = len(ready.model.local)
    row = first + 2 * np.arange(rows - 1)
    return np.vstack([ready.model.plate.quads, np.stack([row, row + 2, row + 3, row + 1], axis=1)])


def _placed(ready: StemReady, angle: Array, state: Array) -> Array:
    rod = ready.model.rod
    node, frame = frames_of(rod, angle)
    centre = np.vstack([np.zeros(3), node - rod.root])
    side = np.concatenate([rod.frame[None], frame])[:, :, 1]
    return _whole(ready, centre, side, plate_places(ready, angle, state))


def stem_mode_surfaces(ready: StemReady, modes: Modes, scenario: str) -> list[Surface]:
    """Return the rest shape with each mode laid on it."""
    rest, free = ready.still, ready.model.free
    hinges = rest.angle.size
    begin = _placed(ready, rest.angle, rest.state)
    extent = float(np.linalg.norm(np.ptp(begin, axis=0)))
    found = []
    for i, (frequency, kind) in enumerate(zip(modes.frequency, modes.kind, strict=True)):
        shape = modes.shape[:, i] / float(np.abs(modes.shape[:, i]).max())

        def moved(size: float, shape: Array = shape) -> Array:
            state = rest.state.copy()
            state.flat[free] += size * shape[hinges:]
            turns = size * shape[:hinges].reshape(-1, 3)
            return _placed(ready, turned_by(rest.angle, turns), state)

        seen = float(np.linalg.norm(moved(TRIAL) - begin, axis=1).max())
        places = np.stack([begin, moved(TRIAL * SWING * extent / seen)])
        label = f"mode {i + 1}, {kind}, {frequency:.3g} Hz"
        quads = _quads(ready, len(rest.angle) + 1)
        found.append(Surface(scenario, ready.strip.name, "mode", label, quads, places))
    return found


def stem_outline(ready: StemReady, march: March, plates: Array) -> Outline:
    """Return what stands about the stem's centreline; ``plates`` (samples, n, 3) as marched."""
    rod = ready.model.rod

    def rims(rows: Integers) -> Array:
        return np.asarray(plates[rows][:, ready.model.rim])

    return Outline(
        rod.root, rod.frame[:, 1], reach_of(ready.strip, march.shapes.shape[1] + 1), rims
    )


def stem_beat_surface(
    ready: StemReady, beat: Beat, plates: Array, scenario: str, speed: float
) -> Surface:
    """Return the phases of a march's last beat; ``plates`` (samples, n, 3) as marched."""
    march = beat.march
    last = march.window[1] - 1
    begin = int(np.searchsorted(march.time, march.time[last] - 1.0 / beat.frequency))
    rows = np.linspace(begin, last, PHASES + 1).astype(int)[:-1]
    rod = ready.model.rod
    places = []
    for row in rows:
        centre = np.vstack([np.zeros(3), march.shapes[row] - rod.root])
        side = np.vstack([rod.frame[:, 1], march.width_axes[row]])
        places.append(_whole(ready, centre, side, plates[row]))
    label = f"beat at {speed:.3g} m/s, {beat.frequency:.3g} Hz"
    quads = _quads(ready, march.shapes.shape[1] + 1)
    return Surface(scenario, ready.strip.name, "beat", label, quads, np.stack(places))
