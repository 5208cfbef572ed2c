"""Any measurement file -> measured quantities: the layout is told by its columns."""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from simsoft.aquarium.bench.droop import measure_droop, measure_weights
from simsoft.aquarium.bench.fall import measure_casts, measure_counts, measure_falls
from simsoft.aquarium.bench.ringdown import measure_ringdown
from simsoft.aquarium.bench.temperature import slopes
from simsoft.aquarium.columns import MOST_ROWS, PLAIN
from simsoft.aquarium.files.runs import SAID, run_conditions, said_of, with_run_conditions
from simsoft.aquarium.files.table import TextTable, column, column_of_words, read_table, shielded
from simsoft.aquarium.files.track import ZERO_CELSIUS, header_conditions, read_track
from simsoft.aquarium.measured import At, Flag, Measured, lacking, sound
from simsoft.aquarium.signal.alias import FASTEST
from simsoft.aquarium.signal.beat import measure_beat
from simsoft.aquarium.signal.ramp import measure_start
from simsoft.aquarium.video.clip import is_clip, read_clip
from simsoft.aquarium.video.film import Setting, measure_film
from simsoft.aquarium.video.named import named_dot
from simsoft.case import units
from simsoft.case.wording import given
from simsoft.core.errors import InputError
from simsoft.core.quantities import QUANTITIES, measured_span

RESULT_COLUMNS = (
    "run_id", "quantity", "value", "u_68", "unit", "method", "n",
    "speed_mps", "temp_C", "salinity_gkg", "frequency_Hz", "view", "part", "date", "case_id",
    "flags", "reason",
)  # fmt: skip
SAID_WORDS = ("view", "part", "date", "case_id")
WORDS = ("run_id", "quantity", "unit", "method", "part", "flags", "reason")
LAYOUTS = """a track (t_s,x_mm,y_mm), beats (run_id,t_start_s,t_end_s,n_beats,distance_mm), \
runs (run_id,speed_mps,temp_C), results (run_id,quantity,value,u_68,unit), ringdown \
(t_s,x_mm with # t_mm, L_mm), droop (L_mm,droop_mm), weigh (mass_g,mass_sub_g), sink \
(run_id,depth_mm,t_s) or cast (cast_id,distance_m,wind_mps)"""
LEAST_RAMP = 0.2  # of the mean speed; a column that changes by more is a ramp


@dataclass(frozen=True)
class Options:
    """What the user says about a measurement that its file does not.

    Attributes
    ----------
    view : str, '' where it was not said
    scale : float or None [m/px]
    fastest : float [Hz], the fastest the tail may beat
    density : tuple or None, weighed density and its u [kg/m^3]
    """

    view: str = ""
    scale: float | None = None
    fastest: float = FASTEST
    density: tuple[float, float] | None = None


def layout(table: TextTable) -> str:
    """Return the name of a file's layout.

    Raises
    ------
    InputError
        No layout has these columns.
    """
    names = set(table.columns)
    bare = {name.partition("_")[0] for name in names}
    if {"quantity", "value"} <= names:
        return "results"
    if "n_beats" in names:
        return "beats"
    if "droop" in bare:
        return "droop"
    if "mass_g" in names and any(name.startswith("mass_sub") for name in names):
        return "weigh"
    if "depth" in bare:
        return "sink"
    if "distance" in bare and (names & {"cast_id", "wind_mps", "lure_g"}):
        return "cast"
    if "t" in bare and "x" in bare:
        return "ringdown" if any(key.startswith("L_") for key in table.header) else "track"
    if "run_id" in names and names & set(SAID):
        return "runs"
    have = ", ".join(given(name)[1:-1] for name in list(table.columns)[:8])
    raise InputError(f"{table.name}: columns {have} fit no layout; allowed are {LAYOUTS}")


def measure_table(table: TextTable, options: Options | None = None) -> list[Measured]:
    """Return what one file says; nothing for a list of runs."""
    return [sound(m) for m in _measured(table, options or Options())]


def _measured(table: TextTable, chosen: Options) -> list[Measured]:
    """Return what one file says, as it is estimated."""
    kind = layout(table)
    most = MOST_ROWS.get(kind, len(table))
    if len(table) > most:
        raise InputError(
            f"{table.name}: has {len(table)} rows; at most {most} of {kind} are allowed"
        )
    if kind == "results":
        return read_results(table)
    if kind == "beats":
        return measure_counts(table)
    if kind == "droop":
        return measure_droop(table, density=chosen.density)
    if kind == "weigh":
        return measure_weights(table)
    if kind == "sink":
        return measure_falls(table)
    if kind == "cast":
        return measure_casts(table)
    if kind == "ringdown":
        return measure_ringdown(table, scale=chosen.scale, density=chosen.density)
    if kind == "runs":
        return []
    track = read_track(table, scale=chosen.scale, view=chosen.view)
    if track.speed is not None:
        speed = track.speed[np.isfinite(track.speed)]
        if len(speed) and np.ptp(speed) > LEAST_RAMP * abs(float(speed.mean())):
            return [measure_start(track)]
        if len(speed) and "speed" not in track.at:
            track = replace(track, at={**track.at, "speed": float(speed.mean())})
    doubts = _flags_of(table.header.get("flags", ""))
    found = measure_beat(track, fastest=chosen.fastest)
    # What spoilt the lengths of a clip spoils those of its track.
    return [replace(m, flags=(*m.flags, *doubts)) if m.unit == "m" else m for m in found]


def measure_files(paths: Sequence[str | Path], options: Options | None = None) -> list[Measured]:
    """Return what several files say together.

    Weighings are read first, because a ring-down or droop needs the density; a list of runs
    gives its conditions to the measurements that carry its ``run_id``; ring-downs at several
    temperatures give a slope.
    """
    chosen = options or Options()
    tables = [(str(path), read_table(path)) for path in paths if not is_clip(path)]
    kinds = [layout(table) for _, table in tables]
    found: list[Measured] = []
    for kind, (path, table) in zip(kinds, tables, strict=True):
        if kind == "weigh":
            found += [with_run_conditions(m, {}, path) for m in measure_table(table, chosen)]
    weighed = next((m for m in found if m.quantity == "density"), None)
    if weighed is not None and weighed.value is not None and weighed.u is not None:
        chosen = replace(chosen, density=(weighed.value, weighed.u))
    runs = told_runs([path for path, _ in tables])
    for kind, (path, table) in zip(kinds, tables, strict=True):
        if kind in ("weigh", "runs"):
            continue
        told = said_of(runs, path, table.header.get("run_id", ""))
        own = of_run(chosen, told, table.header)
        found += [with_run_conditions(m, runs, path) for m in measure_table(table, own)]
    for clip in filter(is_clip, paths):
        told = said_of(runs, str(clip))
        own = of_run(chosen, told, {})
        setting = Setting(view=own.view, scale=own.scale, fastest=own.fastest)
        pictures = read_clip(clip)
        dot = named_dot(str(clip), pictures, str(told.get("point", "")))
        seen = measure_film(pictures, setting, dot=dot).measured
        found += [with_run_conditions(m, runs, str(clip)) for m in seen]
    return [*found, *slopes(found)]


def told_runs(paths: Sequence[str | Path]) -> dict[str, At]:
    """Return what every list of runs among tables says, run by run."""
    runs: dict[str, At] = {}
    for table in map(read_table, paths):
        if layout(table) == "runs":
            runs |= run_conditions(table)
    return runs


def of_run(options: Options, told: At, header: dict[str, str]) -> Options:
    """Return options with view and scale that ``runs.csv`` tells of a run.

    The command line stands before the file's own header, and that before ``runs.csv``.
    """
    view, scale = options.view, options.scale
    if not view and "view" not in header:
        view = str(told.get("view", ""))
    if scale is None and "scale_mm_per_px" not in header and "scale" in told:
        scale = float(told["scale"])
    return replace(options, view=view, scale=scale)


def read_results(table: TextTable) -> list[Measured]:
    """Return the measurements of ``results.csv``, to SI by their unit."""
    value = column(table, "value", PLAIN)
    numbers = {
        name: column(table, name, PLAIN, needed=False) for name in ("u_68", "n", "frequency_Hz")
    }
    said = {name: column_of_words(table, name) for name in WORDS}
    if value is None:
        raise InputError(f"{table.name}: there is no column `value`")
    rows = run_conditions(replace(table, columns={**table.columns, "run_id": _row_names(table)}))
    common = header_conditions(table)
    result = []
    for i, line in enumerate(table.lines):
        word = {name: cells[i] for name, cells in said.items()}
        number = {name: None if cells is None else float(cells[i])
                  for name, cells in numbers.items()}  # fmt: skip
        at = {**common, **rows[f"row {i}"]}
        if word["part"]:
            at["part"] = word["part"]
        result.append(_result(word, float(value[i]), number, at, f"{table.name}: line {line}"))
    return result


def _result(
    word: dict[str, str], value: float, number: dict[str, float | None], at: At, where: str
) -> Measured:
    """Return the measurement of one row from its words and numbers; NaN is a gap."""
    count, u, frequency = (
        None if found is None or math.isnan(found) else found
        for found in (number["n"], number["u_68"], number["frequency_Hz"])
    )
    if frequency is not None:
        at = {**at, "frequency": frequency}
    quantity, unit, method = word["quantity"], word["unit"], word["method"] or "stated"
    n = 1 if count is None else int(count)
    if math.isnan(value):
        reason = word["reason"] or "no value in the file"
        nothing = lacking(quantity, unit, method, reason, n)
        return replace(nothing, at=at, run=word["run_id"])
    factor, si = _to_si(unit, where)
    _check_quantity(quantity, value, (factor, unit, si), where)
    doubt = None if u is None else u * factor
    flags = _flags_of(word["flags"])
    return Measured(quantity, value * factor, doubt, si, method, n, at, flags, word["run_id"])


def _check_quantity(quantity: str, value: float, unit: tuple[float, str, str], where: str) -> None:
    """Raise InputError where a value is none that its quantity can have.

    ``unit`` is the factor to SI, the unit's name and that of the SI unit.
    """
    factor, name, si = unit
    span = measured_span(quantity)
    if span is None:
        return
    above, high = span
    needed = QUANTITIES[quantity].unit
    if si != needed:
        raise InputError(
            f"{where}: {quantity} has unit {given(name)}; one such as {needed or 'nothing'} is "
            "needed"
        )
    if not above < value * factor <= high:
        low = "zero" if above == 0.0 else f"{above / factor:g}"
        allowed = f"above {low} up to {high / factor:g} {name}".rstrip()
        raise InputError(f"{where}: {quantity} is {value:g}; {allowed} is allowed")


def _flags_of(text: str) -> tuple[Flag, ...]:
    """Return the flags of a text such as ``plane gaps~``."""
    return tuple(
        Flag(word.rstrip("~"), "flagged when it was measured", severe=not word.endswith("~"))
        for word in text.split()
    )


def _row_names(table: TextTable) -> tuple[str, ...]:
    return tuple(f"row {i}" for i in range(len(table)))


def _to_si(unit: str, where: str) -> tuple[float, str]:
    """Return the factor to SI and the SI unit of a unit text; angles stay in degrees."""
    if unit in ("", "-", "deg"):
        return 1.0, unit.strip("-")
    for si in ("Hz", "m/s", "m", "N", "Pa", "kg", "kg/m^3", "s", "N m", "1/K"):
        try:
            return units.convert(1.0, unit, si), si
        except Exception:  # the unit library raises many kinds; the next dimension is tried
            continue
    raise InputError(f"{where}: unit is {given(unit)}; one such as Hz, mm, m/s or deg is needed")


def results_text(found: Sequence[Measured]) -> str:
    """Return measurements as the text of ``results.csv``, SI; ``~`` marks a flag to know of."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(RESULT_COLUMNS)
    for m in found:
        celsius = m.at.get("temperature")
        salinity = m.at.get("salinity")
        writer.writerow(
            [
                shielded(m.run),
                shielded(m.quantity),
                "" if m.value is None else f"{m.value:.6g}",
                "" if m.u is None else f"{m.u:.3g}",
                m.unit,
                shielded(m.method),
                m.n,
                _cell(m.at.get("speed")),
                _cell(celsius - ZERO_CELSIUS if isinstance(celsius, float) else None),
                _cell(salinity * 1e3 if isinstance(salinity, float) else None),
                _cell(m.at.get("frequency")),
                *(shielded(str(m.at.get(word, ""))) for word in SAID_WORDS),
                " ".join(flag.word + ("" if flag.severe else "~") for flag in m.flags),
                shielded(m.reason or ""),
            ]
        )
    return out.getvalue()


def _cell(value: object) -> str:
    return f"{value:.6g}" if isinstance(value, int | float) else ""
