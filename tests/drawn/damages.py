"""What happens to a mesh on its way: turned, in inches, torn, doubled, inside out, scanned."""

import numpy as np
from baits import arrays, loft, oval
from scipy.spatial.transform import Rotation

INCH = 25.4


def plain(bait, rng):
    return arrays(bait.solid)


def turned(bait, rng):
    points, faces = arrays(bait.solid)
    return points @ Rotation.random(rng=rng).as_matrix().T + rng.normal(size=3) * 40, faces


def inches(bait, rng):
    points, faces = arrays(bait.solid)
    return points / INCH, faces


def torn(bait, rng):
    """Leave out a dozen faces, none of them large."""
    points, faces = arrays(bait.solid)
    a, b, c = (points[faces[:, k]] for k in range(3))
    area = np.linalg.norm(np.cross(b - a, c - a), axis=1)
    small = np.flatnonzero(area < np.quantile(area, 0.9))
    return points, np.delete(faces, rng.choice(small, 12, replace=False), axis=0)


def doubled(bait, rng):
    """Add a second shell within the first, which most programs export as it is."""
    points, faces = arrays(bait.solid)
    length = points[:, 0].max()
    size = 0.2 * np.ptp(points[:, 2]) * 0.5
    rings = [
        np.column_stack([np.full(24, x), oval(size, size, 24)])
        for x in np.linspace(0.2, 0.35, 6) * length
    ]
    more, others = arrays(loft(rings))
    return np.vstack([points, more]), np.vstack([faces, others + len(points)])


def inside_out(bait, rng):
    points, faces = arrays(bait.solid)
    return points, faces[:, ::-1]


def soup(bait, rng):
    """Give every face its own points, a third wound the wrong way, some twice."""
    points, faces = arrays(bait.solid)
    faces = faces.copy()
    wrong = rng.random(len(faces)) < 0.3
    faces[wrong] = faces[wrong][:, ::-1]
    faces = np.vstack([faces, faces[rng.choice(len(faces), 40)]])
    return points[faces].reshape(-1, 3), np.arange(3 * len(faces)).reshape(-1, 3)


def scanned(bait, rng):
    """Cut the surface finely and add roughness of 0.02 mm along it, as a scan has it."""
    fine = bait.solid.refine_to_length(1.0)
    points, faces = arrays(fine)
    return points + rng.normal(scale=0.02, size=points.shape), faces


def rolled(bait, rng):
    """Turn by half a turn about y and a quarter about x: the file's own axes, another order."""
    points, faces = arrays(bait.solid)
    axes = np.array([[-1.0, 0, 0], [0, 0, 1], [0, 1, 0]])
    return points @ axes.T, faces


ALL = {f.__name__: f for f in (turned, inches, torn, doubled, inside_out, soup, scanned, rolled)}


def word_of(bait, damage, way):
    """Return the word for a way of the bait (3,) in the damaged file: '0.1,-0.7,0.7'."""
    if damage is turned:
        seed = np.random.default_rng([len(bait.name), len("turned")])
        way = Rotation.random(rng=seed).as_matrix() @ way
    elif damage is rolled:
        way = np.array([[-1.0, 0, 0], [0, 0, 1], [0, 1, 0]]) @ way
    return ",".join(f"{v:.4f}" for v in way)
