"""A run that was stopped, kept whole so that it can go on; and what a finished one leaves."""

from __future__ import annotations

from pathlib import Path

import h5py
import numpy as np

from simsoft.core.errors import InputError
from simsoft.core.files import is_damaged, whole_hdf5
from simsoft.resolved.coupling import HeldRod
from simsoft.resolved.free_body import Loose
from simsoft.resolved.job import Job, Settings, read_tuple, write_tuple
from simsoft.resolved.run import History, Point, first_rows
from simsoft.resolved.sheet import HeldSheet
from simsoft.resolved.solids import Single

FORMAT = "simsoft resolved 1"


def keep_point(path: Path, job: Job, settings: Settings, point: Point, populations: Single) -> None:
    """Write where a run stands, whole or not at all.

    Raises
    ------
    OutputError
    """
    with whole_hdf5(path) as file:
        file.attrs["format"] = FORMAT
        write_tuple(file.create_group("job"), job)
        write_tuple(file.create_group("settings"), settings)
        file["row"] = point.row
        states = (("held", point.held), ("loose", point.loose), ("sheet", point.sheet))
        for group, state in states:
            for name, value in ({} if state is None else state._asdict()).items():
                file[f"{group}/{name}"] = value
        for name, value in point.history._asdict().items():
            file[f"history/{name}"] = value
        file.create_dataset("populations", data=populations)


def kept_point(path: Path, job: Job, settings: Settings) -> tuple[Point, Single]:
    """Return the point of a run that was stopped.

    Raises
    ------
    InputError : the file is not one of these, is damaged, or belongs to another run
    """
    if is_damaged(path):
        raise InputError([f"{path}: is damaged, its checksum does not fit; remove it"])
    try:
        with h5py.File(path, "r") as file:
            if file.attrs.get("format") != FORMAT:
                raise InputError([f"{path}: is not a resolved run that was stopped"])
            same = _same(read_tuple(file["job"]), job) and read_tuple(file["settings"]) == settings
            if not same:
                raise InputError(
                    [f"{path}: belongs to another case or grid; remove it or name another --out"]
                )
            held, loose = None, None
            if "held" in file:
                held = HeldRod(*(file[f"held/{name}"][()] for name in HeldRod._fields))
            if "loose" in file:
                loose = Loose(*(file[f"loose/{name}"][()] for name in Loose._fields))
                loose = loose._replace(filled=int(loose.filled))
            sheet = None
            if "sheet" in file:
                sheet = HeldSheet(*(file[f"sheet/{name}"][()] for name in HeldSheet._fields))
                sheet = sheet._replace(filled=int(sheet.filled))
            history = History(*(file[f"history/{name}"][()] for name in History._fields))
            return Point(int(file["row"][()]), held, history, loose, sheet), file["populations"][()]
    except (OSError, KeyError, ValueError, TypeError, RuntimeError) as error:
        raise InputError([f"{path}: cannot be read, {error}"]) from error


def _same(one: Job, other: Job) -> bool:
    """Return whether two jobs are the same to the bit."""

    def flat(value: object) -> list[bytes]:
        if hasattr(value, "_asdict"):
            return [x for item in value._asdict().values() for x in flat(item)]
        return [np.asarray(value, dtype=None if value is not None else "S").tobytes()]

    return flat(one) == flat(other)


def write_history(path: Path, job: Job, settings: Settings, point: Point) -> None:
    """Write the history of a finished run, whole or not at all.

    Raises
    ------
    OutputError
    """
    units = {
        "time": "s", "load": "N, N m", "centre": "m", "axes": "1", "tangent": "1",
        "clamp": "N m, N", "ratio": "1",
    }  # fmt: skip
    history = first_rows(point.history, point.row)
    with whole_hdf5(path) as file:
        file.attrs["format"] = FORMAT
        write_tuple(file.create_group("job"), job)
        write_tuple(file.create_group("settings"), settings)
        for name, value in history._asdict().items():
            data = file.create_dataset(f"history/{name}", data=value, compression="gzip")
            data.attrs["units"] = units[name]
