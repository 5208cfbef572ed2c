"""From a path to TOML tables; everything that can be wrong with a file is one clear line."""

from __future__ import annotations

import os
import re
import stat
import tomllib
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Any

from simsoft.case.wording import printable
from simsoft.core.errors import InputError

LARGEST = 1_000_000  # bytes; a case file is a few kilobytes
LARGEST_OF_ALL = 1 << 42  # bytes; clips are large, and read frame by frame
DEEPEST = 12  # levels of tables and lists; a case needs six
_STEP = r"""(?:[\w-]++|"[^"\n]*+"|'[^'\n]*+')[ \t]*+\.[ \t]*+"""
_LONG_KEY = re.compile(rf"""(?<![\w"'-])(?:{_STEP}){{60}}""")


def read_text(path: str | Path) -> str:
    """Return the text of a case file.

    Raises
    ------
    InputError
        The file is missing, not a plain file, unreadable, too large or not UTF-8 text.
    """
    shown = printable(str(path))
    data = read_bytes(path, "a TOML case file", LARGEST, called="a case file")
    return decode(data, shown, "a TOML")


def check_paths(paths: Iterable[str | Path]) -> None:
    """Look at files before anything heavy is loaded.

    Raises
    ------
    InputError
        One line for each that is missing, no plain file or cannot be read.
    """
    problems: list[str] = []
    for path in dict.fromkeys(paths):
        try:
            read_bytes(path, "a file", LARGEST_OF_ALL, most=1)
        except InputError as error:
            problems += error.problems
    if problems:
        raise InputError(problems)


def are_folders(paths: Sequence[str]) -> bool:
    """Tell whether folders are meant: some are, and what is not there has no ending of a file."""
    there = [Path(path).is_dir() for path in paths]
    missing = [not Path(path).exists() and not Path(path).suffix for path in paths]
    return any(there) and all(a or b for a, b in zip(there, missing, strict=True))


def read_bytes(
    path: str | Path, kind: str, largest: int, *, called: str = "", most: int = -1
) -> bytes:
    """Return the bytes of a plain file.

    Parameters
    ----------
    path : path
    kind : str, what is needed, for the message ('a CSV file')
    largest : int, bytes allowed
    called : str, what a file too large is called, ``kind`` where nothing is said
    most : int, bytes read; all where it is negative

    Raises
    ------
    InputError
        The file is missing, not a plain file, unreadable or too large.
    """
    shown = printable(str(path))
    try:
        status = os.stat(path)
        if stat.S_ISDIR(status.st_mode):
            raise InputError(f"{shown}: is a directory; {kind} is needed")
        if not stat.S_ISREG(status.st_mode):
            raise InputError(f"{shown}: is not a plain file; {kind} is needed")
        if status.st_size > largest:
            raise InputError(
                f"{shown}: has {status.st_size} bytes; {called or kind} of at most {largest} is "
                "allowed"
            )
        if most < 0:
            return Path(path).read_bytes()
        with open(path, "rb") as file:
            return file.read(most)
    except FileNotFoundError:
        meant = Path(f"{path}.toml")
        near = f" (did you mean `{printable(str(meant))}`?)" if meant.is_file() else ""
        raise InputError(f"{shown}: there is no such file{near}") from None
    except PermissionError:
        raise InputError(f"{shown}: cannot be read; permission is denied") from None
    except OSError as problem:
        reason = problem.strerror or "the system gives no reason"
        raise InputError(f"{shown}: cannot be read; {reason.lower()}") from None
    except ValueError:
        raise InputError(f"{shown}: is not a file name") from None


def decode(data: bytes, shown: str, kind: str, *, wide: bool = False) -> str:
    """Return bytes as text, without a byte-order mark.

    Parameters
    ----------
    data : bytes
    shown : str, stands for the file in messages
    kind : str, of text file, with its article ('a TOML')
    wide : bool, read UTF-16 with a byte-order mark too

    Raises
    ------
    InputError
        The bytes are no text in UTF-8; the line is named.
    """
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        if not wide:
            raise InputError(f"{shown}: is UTF-16 text; save it as UTF-8")
        try:
            return data.decode("utf-16")
        except UnicodeDecodeError:
            raise InputError(f"{shown}: is damaged UTF-16 text; save it as UTF-8") from None
    if b"\x00" in data:
        raise InputError(f"{shown}: is a binary file; {kind} text file is needed")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as problem:
        line = data.count(b"\n", 0, problem.start) + 1
        raise InputError(
            f"{shown}: line {line}: is not UTF-8 text (byte 0x{data[problem.start]:02x}); "
            "save it as UTF-8"
        ) from None


def read_tables(text: str, name: str) -> dict[str, Any]:
    """Return the TOML tables of a case text.

    Raises
    ------
    InputError
        The text is empty or no valid TOML; the line is named.
    """
    if len(text) > LARGEST:
        raise InputError(
            f"{name}: has {len(text)} characters; a case file of at most {LARGEST} is allowed"
        )
    try:
        # the library's time grows with the square of a key's steps
        raw = None if _LONG_KEY.search(text) else tomllib.loads(text)
    except tomllib.TOMLDecodeError as problem:
        raise InputError(f"{name}: {_syntax(str(problem), text)}") from None
    except ValueError:
        raise InputError(f"{name}: holds a number of too many digits") from None
    except RecursionError:
        raw = None
    if raw is None or too_deep(raw):
        raise InputError(f"{name}: is nested too deeply; {DEEPEST} levels are allowed")
    if not raw:
        raise InputError(f"{name}: is empty; title, material, parts and scenarios are needed")
    return raw


def too_deep(value: Any) -> bool:
    """Tell whether tables and lists are nested deeper than any case; never recurses itself."""
    level = [value]
    for _ in range(DEEPEST):
        below: list[Any] = []
        for item in level:
            if isinstance(item, dict):
                below.extend(item.values())
            elif isinstance(item, list):
                below.extend(item)
        level = below
    return bool(level)


def _syntax(message: str, text: str) -> str:
    """Return the TOML reader's complaint as ``line N: not valid TOML: ...``."""
    match = re.search(r"\s*\(at (?:line (\d+), column (\d+)|end of document)\)$", message)
    if match is None:
        return f"not valid TOML: {printable(message)}"
    line = match[1] or str(text.count("\n") + 1)
    column = f", column {match[2]}" if match[2] else ", at the end"
    what = printable(message[: match.start()])
    return (
        f"line {line}{column}: not valid TOML: {what[:1].lower()}{what[1:]}; "
        'lines such as length = "30 mm" are needed'
    )
