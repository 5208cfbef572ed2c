"""The journal: every finished run, kept at once in an SQLite file that survives being killed.

One writer at a time. A transaction is either wholly there or not at all after a kill, so that
a row is never half written; what was committed is never asked for again.
"""

from __future__ import annotations

import sqlite3
import zlib
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path

from simsoft.errors import OutputError
from simsoft.sweep.row import Row, from_text, to_text

NAME = "rows.sqlite"
BATCH = 500  # keys asked for in one query


@contextmanager
def journal(directory: Path) -> Iterator[Journal]:
    """Open, or make, the journal of a directory for the length of the block.

    Raises
    ------
    OutputError
        The journal cannot be opened, is in use by another sweep, or cannot be written.
    """
    path = directory / NAME
    connection = None
    try:
        connection = sqlite3.connect(path, timeout=1.0, isolation_level=None)
        connection.execute("PRAGMA locking_mode=EXCLUSIVE")
        connection.execute("PRAGMA synchronous=NORMAL")
        connection.execute("BEGIN EXCLUSIVE")
        connection.execute(
            "CREATE TABLE IF NOT EXISTS rows (key TEXT PRIMARY KEY, row BLOB) WITHOUT ROWID"
        )
        connection.execute("COMMIT")
        yield Journal(connection, path)
    except sqlite3.Error as error:
        raise OutputError(f"{path}: {_reason(error)}") from error
    finally:
        if connection is not None:
            with suppress(sqlite3.Error):
                connection.close()


def _reason(error: sqlite3.Error) -> str:
    text = str(error)
    if "locked" in text:
        return "another sweep is writing here; wait for it or choose another --out"
    if "full" in text or "disk I/O" in text:
        return f"cannot write, {text}; what was done is kept, run again to go on"
    if "readonly" in text or "unable to open" in text:
        return "cannot write, the directory or the file is read-only"
    if "not a database" in text or "malformed" in text:
        return "is damaged or no journal of a sweep; move it away and run again"
    return text


class Journal:
    """Rows by key."""

    def __init__(self, connection: sqlite3.Connection, path: Path) -> None:
        self.connection = connection
        self.path = path

    def put(self, rows: Sequence[Row]) -> None:
        """Keep rows; they are on the disc when this returns."""
        packed = [(row.key, zlib.compress(to_text(row).encode(), 1)) for row in rows]
        self.connection.execute("BEGIN")
        try:
            self.connection.executemany("INSERT OR REPLACE INTO rows VALUES (?, ?)", packed)
            self.connection.execute("COMMIT")
        except sqlite3.Error:
            with suppress(sqlite3.Error):
                self.connection.execute("ROLLBACK")
            raise

    def known(self, keys: Sequence[str]) -> set[str]:
        """Return those of the keys that have a row."""
        found: set[str] = set()
        for part in _batches(keys):
            marks = ",".join("?" * len(part))
            query = f"SELECT key FROM rows WHERE key IN ({marks})"
            found.update(key for (key,) in self.connection.execute(query, part))
        return found

    def get(self, keys: Sequence[str]) -> dict[str, Row]:
        """Return the rows of the keys that have one."""
        found = {}
        for part in _batches(keys):
            marks = ",".join("?" * len(part))
            query = f"SELECT key, row FROM rows WHERE key IN ({marks})"
            for key, blob in self.connection.execute(query, part):
                found[key] = from_text(zlib.decompress(blob).decode())
        return found


def _batches(keys: Sequence[str]) -> Iterable[Sequence[str]]:
    return (keys[i : i + BATCH] for i in range(0, len(keys), BATCH))
