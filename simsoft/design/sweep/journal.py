"""The journal: every finished run, kept at once in an SQLite file that survives being killed.

One writer at a time. A transaction is either wholly there or not at all after a kill, so that
a row is never half written; what was committed is never asked for again. Every row carries a
checksum over its key and its content: a row that does not fit is none, and is run again. A file
that is damaged is set aside, and the rows that can still be read in it are carried over.
"""

from __future__ import annotations

import hashlib
import os
import sqlite3
import warnings
import zlib
from collections.abc import Iterable, Iterator, Sequence
from contextlib import closing, contextmanager, suppress
from pathlib import Path

from simsoft.core.errors import DamageWarning, OutputError
from simsoft.design.sweep.row import Row, from_text, to_text

NAME = "rows.sqlite"
BATCH = 500  # keys asked for in one query
CHECK = 16  # bytes of a row's checksum, in front of it
TABLE = "CREATE TABLE IF NOT EXISTS checked (key TEXT PRIMARY KEY, row BLOB) WITHOUT ROWID"
NAMED = 3  # damaged rows named one by one


@contextmanager
def journal(directory: Path) -> Iterator[Journal]:
    """Open, or make, the journal of a directory for the length of the block.

    Warns
    -----
    DamageWarning
        The file is damaged and was set aside, or rows in it are and are run again.

    Raises
    ------
    OutputError
        The journal cannot be opened, is in use by another sweep, belongs to somebody else, or
        cannot be written.
    """
    path = directory / NAME
    connection = None
    try:
        _make_private(path)
        connection = _opened(path)
        yield Journal(connection, path)
    except sqlite3.Error as error:
        raise OutputError(f"{path}: {_reason(error)}") from error
    finally:
        if connection is not None:
            with suppress(sqlite3.Error):
                connection.close()


def _make_private(path: Path) -> None:
    """Make the file for the user alone, where there is none; refuse somebody else's."""
    with suppress(OSError):  # the database says what is wrong with the place
        os.close(os.open(path, os.O_CREAT | os.O_EXCL | os.O_RDWR, 0o600))
    if hasattr(os, "getuid") and path.exists() and path.stat().st_uid not in (os.getuid(), 0):
        raise OutputError(f"{path}: belongs to another user; choose another --out")


def _opened(path: Path) -> sqlite3.Connection:
    """Return the database, a new one where the old one is damaged."""
    connection = None
    try:
        connection = _connected(path)
        sound = connection.execute("PRAGMA quick_check(1)").fetchone() == (b"ok",)
        tables = connection.execute("SELECT sql FROM sqlite_master").fetchall()
        sound = sound and tables == [(TABLE.replace("IF NOT EXISTS ", "").encode(),)]
    except UnicodeDecodeError:  # the reason quotes a damaged table's text, which is none
        sound = False
    except sqlite3.Error as error:
        if not _is_damage(error) and not _claims_to_be_read_only(path, error):
            raise
        sound = False
    if connection is not None and sound:
        return connection
    if connection is not None:
        connection.close()
    rows = _readable(path)
    aside = _set_aside(path)
    _make_private(path)
    connection = _connected(path)
    connection.executemany("INSERT OR REPLACE INTO checked VALUES (?, ?)", rows)
    text = f"{path}: is damaged and was set aside as {aside.name}; {len(rows)} rows in it are sound"
    warnings.warn(f"{text}, the others are run again", DamageWarning, stacklevel=2)
    return connection


def _connected(path: Path) -> sqlite3.Connection:
    connection = sqlite3.connect(path, timeout=1.0, isolation_level=None)
    connection.text_factory = bytes  # what is damaged need not be text
    try:
        connection.execute("PRAGMA locking_mode=EXCLUSIVE")
        connection.execute("PRAGMA synchronous=NORMAL")
        connection.execute("BEGIN EXCLUSIVE")
        connection.execute(TABLE)
        connection.execute("COMMIT")
    except (sqlite3.Error, UnicodeDecodeError):
        connection.close()
        raise
    return connection


def _is_damage(error: sqlite3.Error) -> bool:
    text = str(error)
    marks = ("not a database", "malformed", "unsupported file format", "no such column",
             "has no column", "syntax error", "unrecognized token", "may not be")  # fmt: skip
    return any(mark in text for mark in marks)


def _claims_to_be_read_only(path: Path, error: sqlite3.Error) -> bool:
    """Tell whether the file's head, not the system, forbids writing: two of its bytes can."""
    if "readonly" not in str(error):
        return False
    try:
        with path.open("r+b") as file:
            file.write(file.read(0))
            version = os.pread(file.fileno(), 2, 18) if hasattr(os, "pread") else b"\1\1"
    except OSError:
        return False
    return any(byte not in (1, 2) for byte in version)


def _readable(path: Path) -> list[tuple[str, bytes]]:
    """Return the sound rows of a damaged database, as far as it can be read."""
    rows: list[tuple[str, bytes]] = []
    with suppress(sqlite3.Error, UnicodeDecodeError):
        address = f"{path.absolute().as_uri()}?mode=ro&immutable=1"
        with closing(sqlite3.connect(address, uri=True)) as connection:
            connection.text_factory = bytes
            for key, blob in connection.execute("SELECT key, row FROM checked"):
                name = _text(key)
                if _unpacked(name, blob) is not None:
                    rows.append((name, blob))
    return rows


def _set_aside(path: Path) -> Path:
    """Give a damaged file, and the log of a transaction that belongs to it, another name."""
    number = 1
    while (aside := path.with_name(f"{path.stem}.damaged-{number}{path.suffix}")).exists():
        number += 1
    path.rename(aside)
    log = path.with_name(f"{path.name}-journal")
    if log.exists():
        log.rename(aside.with_name(f"{aside.name}-journal"))
    return aside


def _reason(error: sqlite3.Error) -> str:
    text = str(error)
    if "locked" in text:
        return "another sweep is writing here; wait for it or choose another --out"
    if "full" in text or "disk I/O" in text:
        return f"cannot write, {text}; what was done is kept, run again to go on"
    if "readonly" in text or "unable to open" in text:
        return "cannot write, the directory or the file is read-only"
    if _is_damage(error):
        return "was damaged while it was in use; run again to go on with the rows that are sound"
    return text


def _packed(row: Row) -> bytes:
    """Return a row as it is kept: a checksum over key and content, then the content."""
    content = zlib.compress(to_text(row).encode(), 1)
    return _checksum(row.key, content) + content


def _checksum(key: str, content: bytes) -> bytes:
    return hashlib.sha256(key.encode() + b"\0" + content).digest()[:CHECK]


def _text(key: object) -> str:
    return key.decode("utf-8", "replace") if isinstance(key, bytes) else str(key)


def _unpacked(key: str, blob: object) -> bytes | None:
    """Return the content of a kept row, None where it is not what was written."""
    if not isinstance(blob, bytes):
        return None
    content = blob[CHECK:]
    return content if _checksum(key, content) == blob[:CHECK] else None


class Journal:
    """Rows by key."""

    def __init__(self, connection: sqlite3.Connection, path: Path) -> None:
        self.connection = connection
        self.path = path
        self.damaged: set[str] = set()

    def put(self, rows: Sequence[Row]) -> None:
        """Keep rows; they are on the disc when this returns."""
        packed = [(row.key, _packed(row)) for row in rows]
        self.connection.execute("BEGIN")
        try:
            self.connection.executemany("INSERT OR REPLACE INTO checked VALUES (?, ?)", packed)
            self.connection.execute("COMMIT")
        except sqlite3.Error:
            with suppress(sqlite3.Error):
                self.connection.execute("ROLLBACK")
            raise

    def known(self, keys: Sequence[str]) -> set[str]:
        """Return those of the keys that have a row; a damaged one is named and has none."""
        return {key for key, _ in self._sound(keys)}

    def get(self, keys: Sequence[str]) -> dict[str, Row]:
        """Return the rows of the keys that have one."""
        return {
            key: from_text(zlib.decompress(content).decode()) for key, content in self._sound(keys)
        }

    def _sound(self, keys: Sequence[str]) -> Iterator[tuple[str, bytes]]:
        """Yield key and content of the rows that are what was written."""
        for part in _batches(keys):
            marks = ",".join("?" * len(part))
            query = f"SELECT key, row FROM checked WHERE key IN ({marks})"
            for name, blob in self.connection.execute(query, part):
                key = _text(name)
                content = _unpacked(key, blob)
                if content is None:
                    self._name(key)
                else:
                    yield key, content

    def _name(self, key: str) -> None:
        if key not in self.damaged and len(self.damaged) < NAMED:
            text = f"{self.path}: row {key[:12]} is damaged; it is run again"
            warnings.warn(text, DamageWarning, stacklevel=4)
        self.damaged.add(key)


def _batches(keys: Sequence[str]) -> Iterable[Sequence[str]]:
    return (keys[i : i + BATCH] for i in range(0, len(keys), BATCH))
