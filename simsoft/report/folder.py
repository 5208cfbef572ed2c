"""A folder of results: what a run wrote into it, so that the next run leaves nothing stale.

The folder keeps a list of what was written, each file with its digest. A file that an earlier run
wrote, the new one does not and nobody has changed since is taken away; every other file stays.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Sequence
from contextlib import suppress
from pathlib import Path

from simsoft.core.files import write_text

LIST = "files.json"


def replace_earlier(directory: Path, written: Sequence[Path]) -> list[str]:
    """Take away what an earlier run left in a folder, and list what this one wrote.

    Parameters
    ----------
    directory : Path
    written : sequence of Path, files of this run in the folder

    Returns
    -------
    gone : list of str, names of the files taken away

    Raises
    ------
    OutputError
        If the list cannot be written.
    """
    names = {path.name for path in written}
    gone = []
    for name, digest in _earlier(directory).items():
        path = directory / name
        if name in names or Path(name).name != name or not path.is_file():
            continue
        with suppress(OSError):
            if _digest(path) == digest:
                path.unlink()
                gone.append(name)
    told = {name: _digest(directory / name) for name in sorted(names)}
    _write_list(directory, told)
    return gone


def add_to_list(directory: Path, path: Path) -> None:
    """Add a file to the list of a folder's results, so that the next run knows whose it is.

    Raises
    ------
    OutputError
        If the list cannot be written.
    """
    told = _earlier(directory) | {path.name: _digest(path)}
    _write_list(directory, told)


def _write_list(directory: Path, told: dict[str, str]) -> None:
    body = json.dumps({"files": dict(sorted(told.items()))}, indent=1)
    write_text(directory / LIST, body + "\n")


def _earlier(directory: Path) -> dict[str, str]:
    """Return names and digests of what an earlier run wrote; nothing where no list tells."""
    try:
        body = json.loads((directory / LIST).read_text(encoding="utf-8"))
        found = body["files"]
    except (OSError, ValueError, KeyError, TypeError):
        return {}
    if not isinstance(found, dict):
        return {}
    return {k: v for k, v in found.items() if isinstance(k, str) and isinstance(v, str)}


def _digest(path: Path) -> str:
    return hashlib.sha256(path.read_bytes()).hexdigest()
