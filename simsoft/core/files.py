"""Files written whole or not at all."""

from __future__ import annotations

import hashlib
import io
import os
import platform
import secrets
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any

from simsoft.core.errors import OutputError

SEAL = b"simsoft sha256 "  # behind the content of an HDF5 file, which readers pass over


def _reason(error: BaseException) -> str:
    """Return the cause of a failure as one line."""
    number = error.errno if isinstance(error, OSError) else None
    text = os.strerror(number) if number else str(error)
    return " ".join(text.split()) or type(error).__name__


def _sync(path: Path, flags: int) -> None:
    """Push a file or directory to the disc, so that a power cut cannot undo the rename."""
    handle = os.open(path, flags)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


@contextmanager
def whole_file(path: str | Path) -> Iterator[Path]:
    """Give a temporary name beside ``path`` and rename it when the block ends well.

    Parameters
    ----------
    path : path of the finished file; an existing file is replaced only at the very end

    Yields
    ------
    temporary : Path in the same directory, not yet existing, to be written in the block; its name
        cannot be guessed, so that nobody lays a link there

    Raises
    ------
    OutputError
        If the file cannot be written or the block fails; the temporary is gone then and an
        older file of the same name is untouched. An interrupt cleans up as well and passes on.
    """
    target = Path(path)
    if os.path.isdir(target):
        raise OutputError(f"{target}: cannot write, a directory has this name")
    if not os.path.isdir(target.parent):
        raise OutputError(f"{target}: cannot write, there is no directory {target.parent}")
    # The suffix stays last: some writers choose their format by it.
    owner = f"{_machine()}-{os.getpid()}"
    part = f".{target.stem}.{owner}-{secrets.token_hex(8)}.part{target.suffix}"
    temporary = target.with_name(part)
    try:
        _clear_away(target)
        yield temporary
        _sync(temporary, os.O_RDWR)
        os.replace(temporary, target)
        if os.name == "posix":
            _sync(target.parent, os.O_RDONLY)
    except OutputError:
        raise
    except Exception as error:
        raise OutputError(f"{target}: cannot write, {_reason(error)}") from error
    finally:
        # A name that could not be opened (too long, say) cannot be removed either.
        with suppress(OSError, ValueError):
            temporary.unlink(missing_ok=True)


def _machine() -> str:
    """Return a short name for this machine, to tell whose process a number is."""
    return hashlib.sha256(platform.node().encode()).hexdigest()[:8]


def _clear_away(target: Path) -> None:
    """Remove what killed processes of this machine have left of a file under way."""
    head, tail = f".{target.stem}.{_machine()}-", f".part{target.suffix}"
    with suppress(OSError):
        for path in list(target.parent.iterdir()):
            if path.name.startswith(head) and path.name.endswith(tail):
                number = path.name[len(head) :].partition("-")[0]
                if number.isdigit() and not _is_alive(int(number)):
                    path.unlink(missing_ok=True)


def _is_alive(process: int) -> bool:
    """Tell whether a process may still run; where that cannot be told, it may."""
    if os.name != "posix":
        return True
    try:
        os.kill(process, 0)
    except (ProcessLookupError, OverflowError):
        return False
    except OSError:
        return True
    return True


@contextmanager
def whole_hdf5(path: str | Path, **options: Any) -> Iterator[Any]:
    """Give an open HDF5 file in memory and write it to ``path`` when the block ends well.

    The library ends the process where a disk fails under it; bytes in memory cannot fail.

    Parameters
    ----------
    path : path of the finished file, see `whole_file`
    options : of h5py.File

    Yields
    ------
    file : h5py.File

    Raises
    ------
    OutputError
        If the file cannot be written.
    """
    import h5py

    memory = io.BytesIO()
    with whole_file(path) as temporary:
        with h5py.File(memory, "w", **options) as file:
            yield file
        with temporary.open("xb") as target, memory.getbuffer() as content:
            target.write(content)
            target.write(SEAL + hashlib.sha256(content).digest())


def is_damaged(path: str | Path) -> bool:
    """Tell whether a file of `whole_hdf5` is not what was written, False where it has no seal.

    The library may end the process at a damaged file; so this is asked before it is opened.
    """
    size = len(SEAL) + hashlib.sha256().digest_size
    try:
        data = memoryview(Path(path).read_bytes())
    except OSError:
        return False
    seal, digest = data[-size : -size + len(SEAL)], data[-size + len(SEAL) :]
    return seal == SEAL and hashlib.sha256(data[:-size]).digest() != digest


def write_text(path: str | Path, text: str) -> Path:
    """Write a text file in UTF-8, whole or not at all.

    Parameters
    ----------
    path : path of the file
    text : str

    Raises
    ------
    OutputError
        If the file cannot be written.
    """
    with whole_file(path) as temporary:
        temporary.write_text(text, encoding="utf-8")
    return Path(path)


def made_directory(path: str | Path) -> Path:
    """Return a directory, made if need be and known to be writable before a long run.

    Raises
    ------
    OutputError
        If it cannot be made or written.
    """
    from tempfile import TemporaryFile

    directory = Path(path)
    try:
        directory.mkdir(parents=True, exist_ok=True)
        with TemporaryFile(dir=directory):
            return directory
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise OutputError(f"{directory}: cannot be used for results, {reason}") from error


@contextmanager
def kept_directory(path: str | Path | None) -> Iterator[Path | None]:
    """Give `made_directory`; what was made of it goes again where the block fails.

    A folder that holds anything stays.

    Parameters
    ----------
    path : path, None for no directory at all

    Raises
    ------
    OutputError
        If it cannot be made or written.
    """
    if path is None:
        yield None
        return
    made = [one for one in (Path(path), *Path(path).parents) if not os.path.exists(one)]
    try:
        yield made_directory(path)
    except BaseException:  # an interrupt, too
        with suppress(OSError):
            for one in made:
                one.rmdir()
        raise
