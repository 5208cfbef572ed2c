"""The results file: one HDF5 file a run, readable with h5py alone.

Layout: ``/case_text``, ``/warnings``, ``/records/<column>`` (one row a record), one group for
each march under ``/traces``, for each static shape under ``/shapes``, for each closest position
to the hook under ``/closest``, for each path of a cast under ``/flights``, for each motion of
the free lure under ``/motions`` and for each mode or beat of a plate under ``/surfaces``. Every
dataset carries ``units`` and ``long_name``; every array dimension has a scale.
"""

from __future__ import annotations

import hashlib
import json
import platform
from collections.abc import Callable, Sequence
from datetime import UTC, datetime
from importlib import metadata
from pathlib import Path
from typing import Any, TypeVar

import h5py
import numpy as np

from simsoft import __version__
from simsoft.case.stored import to_json
from simsoft.core.files import whole_hdf5
from simsoft.results.changes import changes_text
from simsoft.results.frames import paddle_frames, section_directions
from simsoft.results.looks import looks_text
from simsoft.results.record import Record
from simsoft.results.result import Closest, Flight, Motion, RunResult, Shape, Surface, Trace

Item = TypeVar("Item")

FORMAT = "simsoft results 1"
PACKAGES = ("numpy", "scipy", "numba", "h5py")
COMPRESS_ABOVE = 4096


SECTION_AXES = ("thickness", "width", "tangent")
PLATE_AXES = ("normal", "to the first point", "across")


def package_versions() -> dict[str, str]:
    """Return the versions of Python, simsoft and the packages the numbers depend on."""
    versions = {"python": platform.python_version(), "simsoft": __version__}
    return versions | {name: metadata.version(name) for name in PACKAGES}


def write_run(result: RunResult, path: str | Path) -> Path:
    """Write a run to one HDF5 file, whole or not at all.

    Parameters
    ----------
    result : RunResult
    path : path of the file; an older one is replaced only when the new one is complete

    Raises
    ------
    OutputError
        If the file cannot be written; nothing half-written is left behind.
    """
    with whole_hdf5(path, track_order=True) as file:
        _write_provenance(file, result)
        _write_records(file.create_group("records"), result.records)
        _put(file, "axis", np.array(["x", "y", "z"]), "none", "x downstream, y side, z up")
        file["axis"].make_scale("axis")
        _write_each(file, "traces", result.traces, _write_trace)
        _write_each(file, "shapes", result.shapes, _write_shape)
        _write_each(file, "closest", result.closest, _write_closest)
        _write_each(file, "flights", result.flights, _write_flight)
        _write_each(file, "motions", result.motions, _write_motion)
        _write_each(file, "surfaces", result.surfaces, _write_surface)
    return Path(path)


def _write_each(
    file: h5py.File, name: str, items: Sequence[Item], write_one: Callable[[h5py.Group, Item], None]
) -> None:
    """Write a group with a numbered group for every item."""
    group = file.create_group(name, track_order=True)
    for number, item in enumerate(items):
        write_one(group.create_group(f"{number:03d}", track_order=True), item)


def _put(group: h5py.Group, name: str, data: Any, units: str, long_name: str) -> h5py.Dataset:
    """Write one dataset with its unit and long name."""
    array = np.asarray(data)
    if array.dtype.kind == "U":
        array = array.astype(h5py.string_dtype())
    options = {"compression": "gzip", "shuffle": True} if array.size > COMPRESS_ABOVE else {}
    dataset = group.create_dataset(name, data=array, **options)
    dataset.attrs["units"] = units
    dataset.attrs["long_name"] = long_name
    return dataset


def _scale(group: h5py.Group, name: str, data: Any, units: str, long_name: str) -> h5py.Dataset:
    """Write a dataset that serves as the scale of a dimension."""
    dataset = _put(group, name, data, units, long_name)
    dataset.make_scale(name)
    return dataset


def _attach(dataset: h5py.Dataset, *scales: h5py.Dataset) -> None:
    """Attach one scale to each dimension of a dataset."""
    for dimension, scale in zip(dataset.dims, scales, strict=True):
        dimension.attach_scale(scale)


def _write_provenance(file: h5py.File, result: RunResult) -> None:
    """Write where the numbers come from: case, checksum, versions, warnings."""
    text = result.case.text
    file.attrs["format"] = FORMAT
    file.attrs["title"] = result.case.title
    file.attrs["created"] = datetime.now(UTC).isoformat(timespec="seconds")
    file.attrs["versions"] = json.dumps(package_versions())
    case = _put(file, "case_text", np.array(text), "none", "case file with its overrides")
    case.attrs["sha256"] = hashlib.sha256(text.encode()).hexdigest()
    _put(file, "case_checked", np.array(to_json(result.case)), "SI", "case as checked, JSON")
    moves = [[*key[:3], list(key[3]), slopes] for key, slopes in result.moves.items()]
    words = "slope of the logarithm of a number for half the band of each input, JSON"
    _put(file, "moves", np.array(json.dumps(moves)), "1", words)
    looks = np.array(looks_text(result.looks, result.narrowed))
    _put(file, "looks", looks, "SI", "what was seen of the bait in hand, and what that narrowed")
    words = "what the overrides changed, from the case as it stands, JSON"
    _put(file, "changes", np.array(changes_text(result.changes)), "SI", words)
    warnings = np.array(result.warnings, dtype=np.str_)
    number = _scale(file, "warning", np.arange(warnings.size), "1", "number of the warning")
    _attach(_put(file, "warnings", warnings, "none", "warnings of the run"), number)


def _number(value: Any) -> float:
    """Return a scalar record value as a float, NaN where it is a word, a vector or missing."""
    return float(value) if isinstance(value, int | float) else float("nan")


def _write_records(group: h5py.Group, records: tuple[Record, ...]) -> None:
    """Write the records as columns: words, numbers and the whole record as JSON."""
    row = _scale(group, "record", np.arange(len(records)), "1", "number of the record")
    words = {
        "scenario": "scenario the record belongs to",
        "part": "part the record belongs to",
        "quantity": "name of the quantity",
        "unit": "unit of value, low and high",
        "basis": "model and provenance",
    }
    for name, long_name in words.items():
        column = np.array([getattr(r, name) for r in records], dtype=np.str_)
        _attach(_put(group, name, column, "none", long_name), row)
    for name in ("value", "low", "high"):
        column = np.array([_number(getattr(r, name)) for r in records], dtype=np.float64)
        long_name = f"{name} of scalar records, NaN for words, vectors and missing values"
        _attach(_put(group, name, column, "see column unit", long_name), row)
    for key in sorted({key for record in records for key in record.at}):
        found = [r.at.get(key) for r in records]
        words_only = any(isinstance(item, str) for item in found)
        told = [("" if x is None else str(x)) if words_only else _number(x) for x in found]
        column = np.array(told, dtype=np.str_ if words_only else np.float64)
        long_name = f"condition {key}, SI, angles in degrees; empty or NaN where there is none"
        _attach(_put(group, f"at_{key}", column, "none" if words_only else "SI", long_name), row)
    lines = [json.dumps(r.as_json(), allow_nan=False, ensure_ascii=False) for r in records]
    column = np.array(lines, dtype=np.str_)
    _attach(_put(group, "json", column, "none", "the whole record as a JSON object"), row)


def _write_trace(group: h5py.Group, trace: Trace) -> None:
    """Write one time march."""
    for name in ("scenario", "part", "message"):
        group.attrs[name] = getattr(trace, name)
    group.attrs["settled"] = trace.settled
    group.attrs["elements"] = trace.elements
    _put(group, "speed", trace.speed, "m/s", "speed of the stream")
    _put(group, "step", trace.step, "s", "time step")
    _put(group, "window_start", trace.window[0], "s", "start of the stretch the measures use")
    _put(group, "window_end", trace.window[1], "s", "end of the stretch the measures use")
    axis = group.file["axis"]
    time = _scale(group, "time", trace.time, "s", "time since the start of the march")
    vectors = {
        "tip": ("m", "tip position from the clamp"),
        "tangent": ("1", "unit tangent at the tip"),
        "force": ("N", "force of the part on its clamp"),
        "moment": ("N m", "moment of the part on its clamp"),
    }
    for name, (units, long_name) in vectors.items():
        _attach(_put(group, name, getattr(trace, name), units, long_name), time, axis)
    _attach(_put(group, "wake", trace.wake, "1", "wake state of the paddle"), time)
    frames, nodes = trace.strobe.shape[:2]
    frame = _scale(group, "frame", np.arange(frames), "1", "number of the frame")
    node = _scale(group, "node", np.arange(nodes), "1", "number of the node, 0 at the clamp")
    side = _scale(group, "side", np.arange(2), "1", "edge of the section's width")
    points = np.arange(trace.paddle.shape[1])
    point = _scale(group, "point", points, "1", "number of the point on the outline")
    strobe = _put(group, "strobe", trace.strobe, "m", "centrelines over the last cycle")
    _attach(strobe, frame, node, axis)
    taken = _put(group, "strobe_time", trace.strobe_time, "s", "time of each frame")
    _attach(taken, frame)
    edges = _put(group, "edges", trace.edges, "m", "both edges of the section's width")
    _attach(edges, frame, node, side, axis)
    own = _own_axes(group)
    directions = section_directions(trace.strobe, trace.edges)
    told = _put(group, "directions", directions, "1", "axes of the sections, rows")
    _attach(told, frame, node, own, axis)
    paddle = _put(group, "paddle", trace.paddle, "m", "outlines of the paddle")
    _attach(paddle, frame, point, axis)
    if len(points):
        centre, axes = paddle_frames(trace.paddle)
        _attach(_put(group, "paddle_centre", centre, "m", "centre of the paddle"), frame, axis)
        plate = _scale(group, "plate_axis", np.array(PLATE_AXES), "none", "axis of the paddle")
        told = _put(group, "paddle_axes", axes, "1", "axes of the paddle, rows")
        _attach(told, frame, plate, axis)
    _attach(_put(group, "root", trace.root, "m", "clamp in the lure's axes"), axis)
    energy = group.create_group("energy")
    for name, value in trace.energy.items():
        units = "1" if name == "residual" else "J"
        _put(energy, name, value, units, f"energy balance over the march: {name}")


def _write_shape(group: h5py.Group, shape: Shape) -> None:
    """Write one static shape."""
    for name in ("scenario", "part", "label"):
        group.attrs[name] = getattr(shape, name)
    _write_outline(group, shape)
    _attach(_put(group, "root", shape.root, "m", "clamp in the lure's axes"), group.file["axis"])


def _write_closest(group: h5py.Group, item: Closest) -> None:
    """Write the position in which a part is closest to the hook, in the lure's axes."""
    for name in ("scenario", "part", "state", "spot", "contact"):
        group.attrs[name] = getattr(item, name)
    _put(group, "margin", item.margin, "m", "gap between the surfaces of part and hook")
    axis = group.file["axis"]
    for name, where in (("on_part", "middle surface"), ("on_wire", "axis of the wire")):
        _attach(_put(group, name, getattr(item, name), "m", f"closest point, {where}"), axis)
    _write_outline(group, item)


def _write_flight(group: h5py.Group, flight: Flight) -> None:
    """Write the path of a cast; its axes are down range, to the left, up."""
    group.attrs["scenario"], group.attrs["attitude"] = flight.scenario, flight.attitude
    _put(group, "wind", flight.wind, "m/s", "speed of the wind")
    _put(group, "wind_from", flight.wind_from, "deg", "0 from ahead, 90 left, 180 behind")
    count = len(flight.path)
    point = _scale(group, "point", np.arange(count), "1", "number of the point on the path")
    path = _put(group, "path", flight.path, "m", "down range, to the left, up from the water")
    path.dims[0].attach_scale(point)


def _write_motion(group: h5py.Group, motion: Motion) -> None:
    """Write the motion of the whole free lure."""
    for name in ("scenario", "label", "message"):
        group.attrs[name] = getattr(motion, name)
    group.attrs["chains"] = list(motion.chains)
    group.attrs["first_node_of_chain"] = list(motion.first)
    _put(group, "speed", motion.speed, "m/s", "speed of a tow")
    _put(group, "window_start", motion.window[0], "s", "start of the stretch the measures use")
    _put(group, "window_end", motion.window[1], "s", "end of the stretch the measures use")
    axis = group.file["axis"]
    time = _scale(group, "time", motion.time, "s", "time since the start")
    for name, units, long_name in (
        ("eye", "m", "eye of the line in the world"),
        ("centre", "m", "centre of mass of the moulded lure in the world"),
        ("line", "N", "force of the line on the eye"),
    ):
        _attach(_put(group, name, getattr(motion, name), units, long_name), time, axis)
    lead_time = motion.time[: len(motion.lead)]
    asked = _scale(group, "lead_time", lead_time, "s", "time since the start, of the lead")
    lead = _put(group, "lead", motion.lead, "m", "where the line's end asks the eye to be")
    _attach(lead, asked, axis)
    count = np.arange(len(motion.outline))
    point = _scale(group, "point", count, "1", "number of the point on the outline")
    flat = _scale(
        group, "flat_axis", np.array(["x", "z"]), "none", "x from the eye, z; lure's axes"
    )
    _attach(_put(group, "outline", motion.outline, "m", "body from the side"), point, flat)
    frames = _put(group, "frames", motion.frames, "1", "lure's axes (columns) in the world")
    own = _scale(group, "own_axis", np.arange(3), "1", "lure's axis: x to the tail, y, z up")
    _attach(frames, time, axis, own)
    for name, long_name in (("attitude", "nose down"), ("roll", "about the body")):
        _attach(_put(group, name, getattr(motion, name), "deg", long_name), time)
    node = _scale(group, "node", np.arange(motion.nodes.shape[1]), "1", "node of all chains")
    nodes = _put(group, "nodes", motion.nodes, "m", "nodes of soft lengths and parts, world")
    _attach(nodes, time, node, axis)
    energy = group.create_group("energy")
    for name, value in motion.energy.items():
        units = "1" if name == "residual" else "J"
        _put(energy, name, value, units, f"books of the march: {name}")
    _put(group, "momentum_residual", motion.momentum_residual, "1", "momentum less impulse")


def _write_surface(group: h5py.Group, surface: Surface) -> None:
    """Write the positions of a plate's middle surface."""
    for name in ("scenario", "part", "kind", "label"):
        group.attrs[name] = getattr(surface, name)
    frames, nodes = surface.places.shape[:2]
    frame = _scale(group, "frame", np.arange(frames), "1", "number of the frame")
    node = _scale(group, "node", np.arange(nodes), "1", "number of the node")
    panel = _scale(group, "panel", np.arange(len(surface.quads)), "1", "number of the panel")
    corner = _scale(group, "corner", np.arange(4), "1", "corner of a panel, around it")
    quads = _put(group, "quads", surface.quads, "1", "nodes at the corners of the panels")
    _attach(quads, panel, corner)
    places = _put(group, "places", surface.places, "m", "places of the nodes from the clamp")
    _attach(places, frame, node, group.file["axis"])


def _write_outline(group: h5py.Group, shape: Shape | Closest) -> None:
    """Write speed, centreline, edges and paddle of a part in one position."""
    _put(group, "speed", shape.speed, "m/s", "speed of the stream")
    axis = group.file["axis"]
    nodes, points = len(shape.centreline), len(shape.paddle)
    node = _scale(group, "node", np.arange(nodes), "1", "number of the node, 0 at the clamp")
    side = _scale(group, "side", np.arange(2), "1", "edge of the section's width")
    point = _scale(group, "point", np.arange(points), "1", "number of the point on the outline")
    _attach(_put(group, "centreline", shape.centreline, "m", "centreline"), node, axis)
    edges = _put(group, "edges", shape.edges, "m", "both edges of the section's width")
    _attach(edges, node, side, axis)
    own = _own_axes(group)
    directions = section_directions(shape.centreline, shape.edges)
    _attach(_put(group, "directions", directions, "1", "axes of the sections, rows"), node, own,
            axis)  # fmt: skip
    paddle = np.asarray(shape.paddle, dtype=np.float64).reshape(points, 3)
    _attach(_put(group, "paddle", paddle, "m", "outline of the paddle"), point, axis)
    if points:
        centre, axes = paddle_frames(paddle)
        _attach(_put(group, "paddle_centre", centre, "m", "centre of the paddle"), axis)
        plate = _scale(group, "plate_axis", np.array(PLATE_AXES), "none", "axis of the paddle")
        _attach(_put(group, "paddle_axes", axes, "1", "axes of the paddle, rows"), plate, axis)


def _own_axes(group: h5py.Group) -> h5py.Dataset:
    """Return the scale of a section's own axes."""
    return _scale(group, "section_axis", np.array(SECTION_AXES), "none", "axis of a section")
