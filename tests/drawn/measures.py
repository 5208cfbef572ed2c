"""How far what was understood lies off the sizes a bait was made from."""

import numpy as np


def nearest_part(understood, kind):
    """Return the part of a kind; the test fails where there is none or another."""
    kinds = [part.kind for part in understood.parts]
    assert kind in kinds, f"{kind} is not among {kinds}"
    return understood.parts[kinds.index(kind)]


def errors(bait, understood):
    """Return errors in mm, degrees and shares by what the sizes are called."""
    truth = bait.truth
    volume = bait.solid.volume()
    box = bait.solid.bounding_box()
    found = {
        "volume": understood.solid.volume() / volume - 1.0,
        "length": understood.length - (box[3] - box[0]),
        "body_length": understood.trunk.length - truth["body_length"],
    }
    if truth["kind"] is None:
        assert understood.parts == ()
        return found
    part = nearest_part(understood, truth["kind"])
    compare = {
        "paddle-tail": _stem,
        "curl-tail": _tail,
        "ribbon": _tail,
        "fork-tail": _tail,
        "claw": _claw,
    }
    return found | compare[truth["kind"]](truth, part)


def _spread(values, at, share):
    values = np.atleast_1d(values)
    at = np.linspace(0, 1, len(values)) if at is None else at
    return np.interp(share, at, values)


def _stem(truth, part):
    plate = part.plate
    area = truth["paddle_width"] * truth["paddle_height"]
    if truth["shape"] == "disc":
        area *= 0.25 * np.pi
    assert plate.shape == truth["shape"]
    assert part.section == truth["section"]
    return {
        "stem_length": part.length - truth["length"],
        "stem_thickness": np.abs(part.thickness - truth["thickness"]).max(),
        "stem_width": np.abs(part.width - truth["width"]).max(),
        "paddle_area": plate.area / area - 1.0,
        "paddle_thickness": plate.thickness - truth["paddle_thickness"],
        "angle": plate.angle - truth["angle"],
        "offset": plate.offset - truth["offset"],
        "outline": _outline(truth, plate),
    }


def _outline(truth, plate):
    """Return how far the found outline strays from the true one at most."""
    a, b = 0.5 * truth["paddle_width"], 0.5 * truth["paddle_height"]
    x, y = plate.outline.T
    if truth["shape"] == "disc":
        return float(np.abs(np.hypot(x, y) - a).max())
    return float(np.abs(np.maximum(np.abs(x) - a, np.abs(y) - b)).max())


def _tail(truth, part):
    share = np.linspace(0.1, 0.9, 9)
    width, thick = (np.interp(share, part.at, v) for v in (part.width, part.thickness))
    found = {
        "part_length": part.length - truth["length"],
        "part_width": np.abs(width - _spread(truth["width"], truth.get("at"), share)).max(),
        "part_thickness": np.abs(thick - _spread(truth["thickness"], None, share)).max(),
    }
    if "arc_angle" in truth:
        found["angle"] = abs(part.arc_angle) - truth["arc_angle"]
    if "fork_angle" in truth:
        found["angle"] = part.fork_angle - truth["fork_angle"]
    return found


def _claw(truth, part):
    assert part.mirrored
    wide, thick = part.width, part.thickness
    # of the claw only what stands free of the trunk can be seen
    free = truth["length"] - 1.0 / np.cos(np.radians(truth["splay"]))
    found = {
        "part_length": part.length - free,
        "part_width": wide.max() - truth["width"],
        "part_thickness": np.median(thick[part.at > 0.4]) - truth["thickness"],
        "neck_width": np.median(wide[part.at < 0.1]) - truth["neck_width"],
        "neck_thickness": np.median(thick[part.at < 0.1]) - truth["neck_thickness"],
        "angle": np.degrees(np.arctan2(part.direction[1], part.direction[0])) - truth["splay"],
    }
    return found
