"""A run read back from its results file, equal to what was written."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any, NamedTuple, TypeVar

import h5py
import numpy as np

from simsoft.case.stored import from_json
from simsoft.core.errors import InputError
from simsoft.core.files import is_damaged
from simsoft.results.changes import read_changes
from simsoft.results.hdf5 import FORMAT
from simsoft.results.looks import looks_of
from simsoft.results.record import record_of
from simsoft.results.result import Closest, Flight, Motion, Moves, RunResult, Shape, Surface, Trace

Kind = TypeVar("Kind")
OUTLINE = ("centreline", "edges", "paddle")
OLDER = "written by an older simsoft; run the case again with --out"


class Stored(NamedTuple):
    """A run as a results file holds it.

    Attributes
    ----------
    result : RunResult
    created : str, date and time of the run, UTC
    versions : dict of str, of Python, simsoft and the packages the numbers depend on
    digest : str, SHA-256 of the case text
    """

    result: RunResult
    created: str
    versions: dict[str, str]
    digest: str


def read_run(path: str | Path) -> Stored:
    """Read a run back from its results file.

    Parameters
    ----------
    path : path of a file written by ``results.hdf5.write_run``

    Returns
    -------
    stored : Stored, its result equal to the one written

    Raises
    ------
    InputError
        If the file cannot be read, is damaged, is not a results file of this format or an older
        one.
    """
    if is_damaged(path):  # the library may end the process at such a file
        raise InputError(
            f"{path}: is damaged, its checksum does not fit; run the case again with --out"
        )
    try:
        with h5py.File(path, "r") as file:
            if file.attrs.get("format") != FORMAT:
                raise InputError(f"{path}: not a results file of the format {FORMAT!r}")
            if "case_checked" not in file:
                raise InputError(f"{path}: {OLDER}")
            return _stored(file)
    except (OSError, KeyError, ValueError, TypeError, RuntimeError, AttributeError, IndexError):
        raise InputError(f"{path}: cannot be read as a results file") from None


def _stored(file: h5py.File) -> Stored:
    rows = file["records/json"].asstr()[()]
    looks, narrowed = looks_of(file["looks"].asstr()[()]) if "looks" in file else ((), ())
    result = RunResult(
        case=from_json(file["case_checked"].asstr()[()]),
        records=tuple(record_of(json.loads(row)) for row in rows),
        warnings=tuple(str(warning) for warning in file["warnings"].asstr()[()]),
        shapes=_all(file["shapes"], _shape),
        traces=_all(file["traces"], _trace),
        closest=_all(file["closest"], _closest),
        flights=_all(file["flights"], _flight),
        motions=_all(file["motions"], _motion),
        surfaces=_all(file["surfaces"], _surface),
        moves=_moves(file),
        looks=looks,
        narrowed=narrowed,
        changes=read_changes(file["changes"].asstr()[()]) if "changes" in file else (),
    )
    return Stored(
        result,
        str(file.attrs["created"]),
        json.loads(file.attrs["versions"]),
        str(file["case_text"].attrs["sha256"]),
    )


def _moves(file: h5py.File) -> Moves:
    """Return how inputs move numbers; none from a file that was written before they were kept."""
    rows = json.loads(file["moves"].asstr()[()]) if "moves" in file else []
    return {
        (scenario, part, quantity, tuple((key, value) for key, value in at)): slopes
        for scenario, part, quantity, at, slopes in rows
    }


def _all(group: h5py.Group, read_one: Callable[[h5py.Group], Kind]) -> tuple[Kind, ...]:
    return tuple(read_one(group[name]) for name in sorted(group))


def _arrays(group: h5py.Group, *names: str) -> dict[str, Any]:
    """Return datasets by name; a dataset of one number is a float."""
    found = {name: group[name][()] for name in names}
    return {name: float(x) if np.ndim(x) == 0 else x for name, x in found.items()}


def _words(group: h5py.Group, *names: str) -> dict[str, Any]:
    return {name: str(group.attrs[name]) for name in names}


def _window(group: h5py.Group) -> tuple[float, float]:
    return float(group["window_start"][()]), float(group["window_end"][()])


def _energy(group: h5py.Group) -> dict[str, float]:
    return {name: float(item[()]) for name, item in group["energy"].items()}


def _shape(group: h5py.Group) -> Shape:
    words = _words(group, "scenario", "part", "label")
    return Shape(**words, **_arrays(group, "speed", "root", *OUTLINE))


def _trace(group: h5py.Group) -> Trace:
    vectors = ("tip", "tangent", "force", "moment", "wake", "strobe", "strobe_time")
    return Trace(
        **_words(group, "scenario", "part", "message"),
        **_arrays(group, "speed", "step", "time", *vectors, "edges", "paddle", "root"),
        settled=bool(group.attrs["settled"]),
        window=_window(group),
        elements=int(group.attrs["elements"]),
        energy=_energy(group),
    )


def _closest(group: h5py.Group) -> Closest:
    words = _words(group, "scenario", "part", "state", "spot", "contact")
    return Closest(**words, **_arrays(group, "speed", "margin", "on_part", "on_wire", *OUTLINE))


def _flight(group: h5py.Group) -> Flight:
    words = _words(group, "scenario", "attitude")
    return Flight(**words, **_arrays(group, "wind", "wind_from", "path"))


def _motion(group: h5py.Group) -> Motion:
    numbers = ("speed", "time", "eye", "frames", "centre", "attitude", "roll", "line", "lead")
    return Motion(
        **_words(group, "scenario", "label", "message"),
        **_arrays(group, *numbers, "nodes", "outline", "momentum_residual"),
        chains=tuple(str(name) for name in group.attrs["chains"]),
        first=tuple(int(k) for k in group.attrs["first_node_of_chain"]),
        window=_window(group),
        energy=_energy(group),
    )


def _surface(group: h5py.Group) -> Surface:
    words = _words(group, "scenario", "part", "kind", "label")
    return Surface(**words, **_arrays(group, "quads", "places"))
