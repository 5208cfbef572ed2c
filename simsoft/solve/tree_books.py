"""Energy and momentum books of a free lure."""

from __future__ import annotations

import numpy as np

from simsoft.compiled import kernel
from simsoft.loads.section import VELOCITY
from simsoft.solve.forces import DEAD, PADDLE, REACTIVE, RESISTIVE
from simsoft.solve.tree_forces import TreeWork, chain_of
from simsoft.structure.elastic import damping_power, elastic_energy
from simsoft.structure.rod import Array
from simsoft.structure.tree import Tree, momentum_turning, transform

BOOKS = 9  # energies and powers, in the order of BOOK_NAMES
BOOK_NAMES = (
    "kinetic",
    "elastic",
    "drag_work",
    "reactive_work",
    "dead_work",
    "paddle_work",
    "damping_loss",
    "fluid_inertia_work",
    "line_work",
)


@kernel()
def books_of(
    tree: Tree,
    work: TreeWork,
    frame: Array,
    twist: Array,
    angle: Array,
    rate: Array,
    acceleration: Array,
    pull: Array,
    p: Array,
    impulse: Array,
) -> None:
    """Write energies and powers (9,), and momentum and outer force (rows 0 and 2 of impulse)."""
    p[:] = 0.0
    impulse[0] = 0.0
    impulse[2] = 0.0
    h, f, turned = np.zeros(6), np.zeros(6), np.zeros(6)
    transform(tree.base.structure, twist, h)
    transform(tree.base.fluid, acceleration, f)
    momentum_turning(tree.base.fluid, twist, turned)
    for i in range(6):
        p[0] += 0.5 * twist[i] * h[i]
        p[2] += twist[i] * work.drag[i]
        p[3] += twist[i] * work.opened[i]
        p[4] += twist[i] * work.dead[i]
        p[7] -= twist[i] * (f[i] + turned[i])
    for i in range(3):
        velocity = 0.0
        for j in range(3):
            velocity += frame[i, j] * twist[3 + j]
            outer = (
                work.drag[3 + j] + work.dead[3 + j] + work.opened[3 + j] - f[3 + j] - turned[3 + j]
            )
            impulse[0, i] += frame[i, j] * h[3 + j]
            impulse[2, i] += frame[i, j] * outer
        p[8] += velocity * pull[i]
        impulse[2, i] += pull[i]
    for c in range(tree.carrier.shape[0]):
        a, b = tree.first[c], tree.first[c + 1]
        rod = chain_of(tree, work, c)
        p[1] += elastic_energy(rod, angle[a:b])
        p[6] += damping_power(rod, angle[a:b], rate[a:b])
        for k in range(a, b):
            link_books(tree, work, k, p, impulse)


@kernel()
def link_books(tree: Tree, work: TreeWork, k: int, p: Array, impulse: Array) -> None:
    """Add one link's energy, powers, momentum and outer force to the books."""
    reach = 0.5 * tree.length[k]
    frame = work.frame[k]
    twist = np.zeros(6)
    for i in range(3):
        twist[i] = work.spin[k, i]
        twist[3 + i] = work.state[k, VELOCITY, i]
    w = work.wrench[k]
    for i in range(6):
        p[2] += w[RESISTIVE, i] * twist[i]
        p[3] += w[REACTIVE, i] * twist[i]
        p[4] += w[DEAD, i] * twist[i]
        p[5] += w[PADDLE, i] * twist[i]
    twist[3] -= twist[1] * reach
    twist[4] += twist[0] * reach
    for i in range(6):
        momentum = 0.0
        fluid = 0.0
        for j in range(6):
            momentum += tree.structure[k, i, j] * twist[j]
            fluid += tree.fluid[k, i, j] * work.link[k, j]
        p[0] += 0.5 * twist[i] * momentum
        p[7] -= twist[i] * fluid
        if i >= 3:
            outer = w[0, i] + w[1, i] + w[2, i] + w[3, i] - fluid
            for m in range(3):
                impulse[0, m] += frame[m, i - 3] * momentum
                impulse[2, m] += frame[m, i - 3] * outer
