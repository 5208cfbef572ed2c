"""A shop's profile as TOML: values with units, bands and where they come from."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Sequence
from datetime import UTC, datetime
from pathlib import Path

from simsoft.case.limits import LIMITS
from simsoft.case.measured import ProfileValue
from simsoft.case.profile import VALUES
from simsoft.case.units import convert

ZERO_CELSIUS = 273.15  # [K]
HEAD = """# Written by simsoft calibrate. A case names it: profile = "{name}" above its first table.
# Values stand in for the defaults; what a case states itself goes before them.
"""


def profile_text(
    title: str,
    values: dict[str, ProfileValue],
    sources: Sequence[str | Path],
    version: str,
    now: datetime,
    *,
    name: str,
    notes: Sequence[str] = (),
) -> str:
    """Return the text of a profile.

    Parameters
    ----------
    title : str
    values : dict of ProfileValue by name
    sources : sequence of path, measurement files, whose hashes are kept
    version : str, of simsoft
    now : datetime
    name : str, of the file
    notes : sequence of str, kept as comment lines
    """
    lines = [HEAD.format(name=name)]
    lines += [f"# {' '.join(note.split())}" for note in notes]
    lines += [
        f"title = {json.dumps(title)}",
        f'made = "{now.astimezone(UTC).isoformat(timespec="seconds")}"',
        f'simsoft = "{version}"',
    ]
    for key, value in values.items():
        lines += ["", f"[values.{key}]"]
        lines += [
            f"{end} = {_quantity(key, getattr(value, end))}" for end in ("value", "low", "high")
        ]
        if value.frequency is not None:
            lines.append(f'frequency = "{value.frequency:.4g} Hz"')
        if value.temperature is not None:
            lines.append(f'temperature = "{value.temperature - ZERO_CELSIUS:.2f} degC"')
        lines.append(f"basis = {json.dumps(value.basis)}")
    for path in sources:
        digest = hashlib.sha256(Path(path).read_bytes()).hexdigest()
        lines += [
            "",
            "[[sources]]",
            f"file = {json.dumps(Path(path).name)}",
            f'sha256 = "{digest}"',
        ]
    return "\n".join(lines) + "\n"


def _quantity(name: str, value: float) -> str:
    """Return a number as TOML, a text with its unit where the quantity has one."""
    limit = LIMITS[VALUES[name]]
    if not limit.unit:
        return f"{value:.6g}" if "." in f"{value:.6g}" or "e" in f"{value:.6g}" else f"{value:.1f}"
    return f'"{convert(value, limit.si, limit.unit):.6g} {limit.unit}"'
