"""The plates of a free lure hung on it: what the kernels need of them, renewed as they bend."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, TypeVar

import numpy as np
from scipy.linalg import LinAlgError

from simsoft.bodies.free.seated_plate import TreeLeaf
from simsoft.bodies.free.stepper_with_plates import Leaves, add_leaf, bunch_of
from simsoft.bodies.paddle.carried_plate import make_trial_plate
from simsoft.bodies.paddle.condense import condensed
from simsoft.bodies.paddle.stepper import ITERATIONS
from simsoft.bodies.plate.stepper import mates_of, node_frames
from simsoft.core.arrays import Array
from simsoft.hydrodynamics.flexible_paddle import Pad, no_pad
from simsoft.hydrodynamics.plate.flow import Flow, no_flow
from simsoft.hydrodynamics.plate.wake import FIRST_WAKE, no_wake
from simsoft.hydrodynamics.rim import RIM_STATES, SEEN
from simsoft.lure.free_lure import FreeLure
from simsoft.lure.seated_plates import LeafModel

Tuple = TypeVar("Tuple", bound=tuple[Any, ...])

STIFF = 1.0e-3  # [s], step of plates that do not bend: any serves


def bunch_leaves(leaves: tuple[TreeLeaf, ...]) -> Leaves:
    """Return leaves, at least one, as the kernels take them."""
    bunch = bunch_of(leaves[0])
    for leaf in leaves[1:]:
        add_leaf(bunch, leaf)
    return bunch


def tree_leaf(leaf: LeafModel, step: float, shape: Array | None = None) -> TreeLeaf:
    """Return a plate at rest for a march with steps of a size [s].

    ``shape`` (n, 6) are places and directors in the axes of the seat, None for the moulded ones.
    """
    state = leaf.state if shape is None else shape
    water = leaf.water
    mass = leaf.model.mass.tocsr()
    found = condensed(
        leaf.model.mass, water, leaf.model.free, leaf.model.plate, leaf.modulus, leaf.time, step,
        state,
    )  # fmt: skip
    motion, shed = np.zeros((4, *state.shape)), np.zeros((2, 4))
    motion[0], shed[:, 0] = state, FIRST_WAKE
    n, m = len(state), len(leaf.model.free)
    frames, mates = np.zeros((n, 3, 3)), mates_of(leaf.model.plate.quads, n)
    node_frames(state, mates, frames)
    marks = np.zeros((0, 3), dtype=np.int64)
    wake = no_wake()
    if leaf.lined is not None:
        planform = leaf.lined.planform
        marks = np.column_stack([planform.centre, planform.edges]).astype(np.int64)
        wake = leaf.lined.wake or wake
    return TreeLeaf(
        plate=owned(leaf.model.plate),
        flow=owned(water if isinstance(water, Flow) else no_flow()),
        wake=owned(wake),
        pad=owned(water if isinstance(water, Pad) else no_pad()),
        on_stem=isinstance(water, Pad),
        mass=(mass.data, mass.indices.astype(np.int64), mass.indptr.astype(np.int64)),
        dead=np.ascontiguousarray(leaf.model.dead[:, :3]),
        free=np.array(leaf.model.free, dtype=np.int64),
        modulus=float(leaf.modulus),
        time=float(leaf.time),
        length=leaf.length,
        carrier=leaf.carrier,
        carry=leaf.carry,
        mount=leaf.mount,
        mount_at=np.array(leaf.mount_at),
        **{name: np.array(matrix) for name, matrix in found._asdict().items()},
        frames=frames,
        mates=mates,
        turn=np.zeros((n, 3, 3)),
        motion=motion,
        shed=shed,
        marks=marks,
        seat_frame=np.zeros((3, 3)),
        seat_at=np.zeros(3),
        seat_twist=np.zeros(6),
        seat_acceleration=np.zeros(6),
        seat_begun=np.zeros(6),
        foretold=np.zeros((2, n, 6)),
        kept=np.zeros((ITERATIONS, n + 1, 6)),
        shift=np.zeros((n + 1, 6)),
        solved=np.zeros(m),
        wakes=np.zeros(2),
        rim=np.zeros(RIM_STATES),
        seen=np.zeros(SEEN),
        energy=np.zeros(2),
        still=np.zeros((n, 3)),
        trial=make_trial_plate(n, 0),
    )


def frozen_leaves(lure: FreeLure, plates: Sequence[Array] | None) -> tuple[TreeLeaf, ...]:
    """Return the plates frozen in shapes (n, 6), None for the moulded ones; nothing is shed."""
    found = []
    for k, leaf in enumerate(lure.leaves):
        kept = tree_leaf(leaf, STIFF, None if plates is None else plates[k])
        paddle = kept.pad.paddle._replace(rim_force=0.0, force_growth=0.0)
        wake, pad = kept.wake._replace(moment=np.zeros(2)), kept.pad._replace(paddle=paddle)
        found.append(kept._replace(wake=wake, pad=pad))
    return tuple(found)


def broadside_drag(leaf: LeafModel) -> float:
    """Return the drag of a plate square on [kg/m], force per squared speed."""
    water = leaf.water
    if isinstance(water, Flow):
        return water.drag * float(water.area.sum())
    return 0.0 if water is None else water.paddle.normal_force * water.paddle.area


def renew(lure: FreeLure, leaves: tuple[TreeLeaf, ...], step: float) -> list[bool]:
    """Take the inverses of all plates in their present shapes; return whether each was found."""
    told = []
    for leaf, kept in zip(lure.leaves, leaves, strict=True):
        try:
            found = condensed(
                leaf.model.mass, leaf.water, leaf.model.free, leaf.model.plate, leaf.modulus,
                leaf.time, step, kept.motion[0],
            )  # fmt: skip
        except (LinAlgError, ValueError):
            told.append(False)
            continue
        for name, matrix in found._asdict().items():
            getattr(kept, name)[:] = matrix
        node_frames(kept.motion[0], kept.mates, kept.frames)
        told.append(True)
    return told


def owned(value: Tuple) -> Tuple:
    """Return a named tuple with arrays of its own, in rows: all alike for the compiler."""

    def plain(part: Any) -> Any:
        if isinstance(part, np.ndarray):
            return np.array(part, order="C")
        if isinstance(part, tuple):
            return owned(part)
        return float(part) if isinstance(part, np.floating) else part

    return type(value)(*(plain(part) for part in value))
