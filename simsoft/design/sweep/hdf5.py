"""The sweep's HDF5 file and CSV: written whole or not at all, readable with h5py alone.

Layout: ``/axes/<path>`` (text as written, number), ``/status`` and ``/reason`` (one a design),
``/answers/<n>`` (one group a column: ``value``, ``low``, ``high`` and, where values are
missing or not to be trusted, ``missing_index`` or ``doubted_index`` with ``..._reason``). Units,
conditions and basis are attributes.
The same designs give the same bytes: no time stamp, no order of arrival.
"""

from __future__ import annotations

import csv
import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np

from simsoft import __version__
from simsoft.core.cells import text_cell
from simsoft.core.errors import InputError, OutputError
from simsoft.core.files import is_damaged, whole_file, whole_hdf5
from simsoft.design.sweep.axis import number_of
from simsoft.design.sweep.table import Column, SweepTable

H5, CSV = "sweep.h5", "sweep.csv"
FORMAT = "simsoft sweep 1"
# what the library and a reader of its texts raise at a damaged file
DAMAGE = (OSError, KeyError, ValueError, RuntimeError, TypeError, AttributeError, IndexError)


def write_h5(table: SweepTable, path: Path, digest: str) -> None:
    """Write a table; ``digest`` names the plan, so that the same sweep finds it again."""
    import h5py

    text = h5py.string_dtype("utf-8")
    with whole_hdf5(path, libver="latest") as file:
        file.attrs.update(
            {
                "format": FORMAT,
                "simsoft": __version__,
                "title": table.title,
                "case_text": table.text,
                "plan": json.dumps(table.plan),
                "plan_digest": digest,
                "note": "SI units, angles in degrees; NaN or an empty text is a missing answer, "
                "its reason stands beside it",
            }
        )
        design = file.create_dataset("design", data=np.arange(table.count))
        design.attrs.update({"units": "1", "long_name": "number of the design"})
        design.make_scale("design")
        axes = file.create_group("axes", track_order=True)
        for i, (name, unit) in enumerate(zip(table.paths, table.units, strict=True)):
            group = axes.create_group(name.replace("/", "_"))
            group.attrs.update({"path": name, "unit": unit})
            written = [row[i] for row in table.values]
            _put(group, "written", written, design, "none", f"{name} as written", dtype=text)
            numbers = [number_of(item) for item in written]
            if all(number is not None for number in numbers):
                _put(group, "number", np.array(numbers, dtype=float), design, unit or "1", name)
        _put(file, "status", table.status, design, "none", "done, or how it failed", dtype=text)
        _put(file, "reason", table.reason, design, "none", "why there is no answer", dtype=text)
        answers = file.create_group("answers", track_order=True)
        for number, column in enumerate(table.columns.values()):
            _write_column(answers.create_group(f"{number:04d}"), column, text, design)


def _put(
    group: Any, name: str, data: Any, scale: Any, units: str, long_name: str, **options: Any
) -> None:
    """Write one dataset along the designs, with its unit and long name."""
    dataset = group.create_dataset(name, data=data, **options)
    dataset.attrs.update({"units": units, "long_name": long_name})
    dataset.dims[0].attach_scale(scale)


def _write_column(group: Any, column: Column, text: Any, design: Any) -> None:
    scenario, part, quantity, unit, at = column.parts
    group.attrs.update(
        {
            "label": column.label,
            "column": column.name,
            "scenario": scenario,
            "part": part,
            "quantity": quantity,
            "unit": unit,
            "at": json.dumps(at),
            "basis": column.basis,
        }
    )
    if isinstance(column.value, list):
        _put(group, "value", column.value, design, "none", column.label, dtype=text)
    else:
        _put(group, "value", column.value, design, unit or "1", column.label)
        for name in ("low", "high"):
            ends = getattr(column, name)
            if ends is not None:
                long_name = f"{name} end of the band of {column.label}"
                _put(group, name, ends, design, unit or "1", long_name)
    _write_reasons(group, "missing", column.reasons, "has none", text)
    _write_reasons(group, "doubted", column.doubts, "is not to be trusted", text)


def _write_reasons(group: Any, name: str, told: dict[int, str], what: str, text: Any) -> None:
    """Write the designs of which something is told beside a value, and the reason of each."""
    if not told:
        return
    scale = group.create_dataset(name, data=np.arange(len(told)))
    scale.attrs.update({"units": "1", "long_name": f"number of the {name} answer"})
    scale.make_scale(name)
    index = np.array(list(told), dtype=np.int64)
    _put(group, f"{name}_index", index, scale, "1", f"design whose answer {what}")
    _put(group, f"{name}_reason", list(told.values()), scale, "none", "why", dtype=text)


def plan_digest_of(path: Path) -> str | None:
    """Return the plan's digest of a sweep file, None where there is no readable one."""
    import h5py

    if is_damaged(path):
        return None
    try:
        with h5py.File(path, "r") as file:
            return str(file.attrs["plan_digest"]) if file.attrs.get("format") == FORMAT else None
    except DAMAGE:
        return None


def read_h5(path: Path) -> SweepTable:
    """Return the table of a sweep file."""
    import h5py

    if is_damaged(path):
        raise InputError(f"{path}: is damaged, its checksum does not fit")
    try:
        with h5py.File(path, "r") as file:
            axes = list(file["axes"].values())
            written = [axis["written"].asstr()[:] for axis in axes]
            count = len(file["status"])
            columns = [_read_column(group) for group in file["answers"].values()]
            return SweepTable(
                title=str(file.attrs["title"]),
                text=str(file.attrs["case_text"]),
                plan=json.loads(file.attrs["plan"]),
                paths=tuple(str(axis.attrs["path"]) for axis in axes),
                units=tuple(str(axis.attrs["unit"]) for axis in axes),
                values=[tuple(str(c[i]) for c in written) for i in range(count)],
                status=[str(item) for item in file["status"].asstr()[:]],
                reason=[str(item) for item in file["reason"].asstr()[:]],
                columns={column.name: column for column in columns},
            )
    except DAMAGE as error:
        reason = " ".join(str(error).split())
        raise InputError(f"{path}: is no finished sweep file; {reason}") from error


def _read_column(group: Any) -> Column:
    value = group["value"]
    words = value.dtype.kind == "O"
    found: Any = [str(item) for item in value.asstr()[:]] if words else value[:]
    return Column(
        name=str(group.attrs["column"]),
        basis=str(group.attrs["basis"]),
        value=found,
        low=group["low"][:] if "low" in group else None,
        high=group["high"][:] if "high" in group else None,
        reasons=_read_reasons(group, "missing"),
        doubts=_read_reasons(group, "doubted"),
    )


def _read_reasons(group: Any, name: str) -> dict[int, str]:
    if f"{name}_index" not in group:
        return {}
    said = group[f"{name}_reason"].asstr()[:]
    pairs = zip(group[f"{name}_index"][:], said, strict=True)
    return {int(i): str(reason) for i, reason in pairs}


def write_csv(table: SweepTable, path: Path) -> None:
    """Write a table as CSV: one row a design, SI units in the header, empty where missing."""
    with (
        whole_file(path) as temporary,
        temporary.open("w", encoding="utf-8", newline="") as file,
    ):
        writer = csv.writer(file)
        writer.writerows([text_cell(cell) for cell in row] for row in _csv_rows(table))


def _csv_rows(table: SweepTable) -> Iterator[list[str]]:
    columns = list(table.columns.values())
    heads = [
        f"{name} [{unit}]" if unit else name
        for name, unit in zip(table.paths, table.units, strict=True)
    ]
    answers: list[str] = []
    for column in columns:
        unit = column.parts[3]
        answers.append(f"{column.label} [{unit}]" if unit else column.label)
        answers += [f"{column.label} {end}" for end in ("low", "high") if _has(column, end)]
    yield ["design", *heads, "status", "reason", *answers]
    for index, values in enumerate(table.values):
        shown = [
            value.removesuffix(f" {unit}") if unit else value
            for value, unit in zip(values, table.units, strict=True)
        ]
        row = [str(index), *shown, table.status[index], table.reason[index]]
        for column in columns:
            row.append(_csv_value(column.value[index]))
            row += [
                _csv_value(getattr(column, end)[index])
                for end in ("low", "high")
                if _has(column, end)
            ]
        yield row


def _has(column: Column, end: str) -> bool:
    return getattr(column, end) is not None


def _csv_value(value: Any) -> str:
    if isinstance(value, str):
        return value
    return "" if np.isnan(value) else repr(float(value))


def check_place(directory: Path) -> None:
    """Raise OutputError where a sweep's files cannot be put into a directory."""
    for name in (H5, CSV):
        if (directory / name).is_dir():
            raise OutputError(f"{directory / name}: cannot write, a directory has this name")
