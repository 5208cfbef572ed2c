"""The decorator of every compiled kernel, and where compiled code is kept.

Compiled code is cached under a digest of the kernels' sources. The compiler's own cache looks
only at the file of the function it is asked for, so a change in a function that a kernel calls
would go unnoticed; a digest over all kernel files cannot miss it. The place is the user's
cache directory, so that a read-only installation works too; ``SIMSOFT_CACHE`` moves it.
An entry is found by what the package holds, not by where it lies: a second checkout or
environment with the same sources and compiler compiles nothing.

Loading compiled code runs what is in the file. The place is therefore the user's alone: a folder
that belongs to somebody else, or that others can write, is refused.
"""

from __future__ import annotations

import hashlib
import io
import os
import pickle
import stat
from contextlib import suppress
from functools import lru_cache, partial
from pathlib import Path
from typing import TYPE_CHECKING, Any, cast

import llvmlite
import numba
from numba import njit
from numba.core.caching import CacheImpl, IndexDataCacheFile, UserProvidedCacheLocator

from simsoft.core.callees import called_through
from simsoft.core.errors import InputError

if TYPE_CHECKING:
    from numba.core.decorators import _JITWrapper

KERNEL_PACKAGES = ("mechanics", "hydrodynamics", "solvers", "bodies", "scenarios", "resolved")
KERNEL_MARKS = (b"kernel(", b"NamedTuple")  # what a file holds whose change asks for compiling


_PACKAGE = Path(__file__).parents[1]
COMPILING = tuple(  # how kernels are compiled
    Path(__file__).with_name(f"{name}.py")
    for name in ("compiled", "callees", "references", "elements")
)


@lru_cache(maxsize=1)
def cache_directory() -> Path:
    """Return the directory that holds the compiled kernels of exactly these sources."""
    digest = hashlib.sha256(f"{numba.__version__} {llvmlite.__version__}".encode())
    package = _PACKAGE
    for source in COMPILING:
        digest.update(source.read_bytes())
    for folder in KERNEL_PACKAGES:
        for source in sorted((package / folder).rglob("*.py")):
            text = source.read_bytes()
            if any(mark in text for mark in KERNEL_MARKS):
                digest.update(source.relative_to(package).as_posix().encode())
                digest.update(text)
    stated = os.environ.get("SIMSOFT_CACHE")
    if stated:
        root = Path(stated)
    else:
        root = Path(os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache") / "simsoft"
    return private(root, root / digest.hexdigest()[:16])


def private(root: Path, here: Path) -> Path:
    """Return the folder ``here`` below ``root``, made if need be, known to be the user's alone.

    Parameters
    ----------
    root : Path, may also be a folder such as /tmp where all may write but not replace
    here : Path, in ``root``

    Raises
    ------
    InputError
        Somebody else owns or may change what would be loaded from there.
    """
    if not hasattr(os, "getuid"):  # elsewhere the user's folders are guarded by their lists
        return here
    with suppress(OSError):  # a place that cannot be written is told when the compiler needs it
        root.mkdir(mode=0o700, parents=True, exist_ok=True)
    if root.exists():
        if root.lstat().st_uid not in (os.getuid(), 0):  # whoever owns a link may turn it
            raise InputError(f"{root}: belongs to another user; {_REMEDY}")
        _check_owner(root, guarded=bool(root.stat().st_mode & stat.S_ISVTX))
    with suppress(OSError):
        here.mkdir(mode=0o700, exist_ok=True)
    if here.is_symlink():
        raise InputError(f"{here}: is a link; {_REMEDY}")
    if here.is_dir():
        _check_owner(here)
        closed = not here.stat().st_mode & 0o077  # nobody else gets to what is inside
        for folder, folders, files in os.walk(here):
            for name in (*folders, *files):
                _check_owner(Path(folder) / name, guarded=closed)
    return here


_REMEDY = "compiled code is loaded from there; remove it, or set SIMSOFT_CACHE to a folder of yours"


def _check_owner(path: Path, *, guarded: bool = False) -> None:
    """Raise InputError where somebody but the user and root could change a path.

    ``guarded`` says that being allowed to write there is of no use to others.
    """
    try:
        status = path.stat()
    except FileNotFoundError:  # another process of the user's renews its entries
        return
    if status.st_uid not in (os.getuid(), 0):
        raise InputError(f"{path}: belongs to another user; {_REMEDY}")
    if status.st_mode & (stat.S_IWGRP | stat.S_IWOTH) and not guarded:
        raise InputError(f"{path}: can be written by others; {_REMEDY}")


def is_cold(kernel: str = "") -> bool:
    """Return whether nothing has been compiled yet for these sources on this machine.

    With the name of a ``kernel``, whether that one has not.
    """
    here = cache_directory()
    pattern = f"*{kernel}*.nbi" if kernel else "*.nbi"
    return not here.is_dir() or next(here.rglob(pattern), None) is None


setattr(numba.config, "CACHE_DIR", str(cache_directory()))  # noqa: B010


class PackageLocator(UserProvidedCacheLocator):
    """Where the compiler keeps a kernel of this package: under its folder inside the package."""

    def __init__(self, function: Any, source: str) -> None:
        super().__init__(function, source)  # type: ignore[no-untyped-call]
        folder = Path(source).parent.relative_to(_PACKAGE)
        self._cache_path = str(cache_directory() / folder)

    @classmethod
    def from_function(cls, function: Any, source: str) -> Any:
        """Return the place of a function, None for one that is not of this package."""
        if not Path(source).is_relative_to(_PACKAGE):
            return None
        return super().from_function(function, source)  # type: ignore[no-untyped-call]


CacheImpl._locator_classes.insert(0, PackageLocator)


class CheckedEntries(IndexDataCacheFile):
    """The compiler's cache of one kernel, with a checksum behind every entry.

    An entry that is not what was written counts as none and is compiled again: machine code with
    one wrong bit still runs, and gives wrong numbers.
    """

    def _dump(self, entry: Any) -> bytes:
        data: bytes = super()._dump(entry)  # type: ignore[no-untyped-call]
        return data + hashlib.sha256(data).digest()

    def _load_index(self) -> dict[Any, str]:
        try:
            stream = io.BytesIO(Path(self._index_path).read_bytes())
            pickle.load(stream)  # the compiler's version
            whole = _is_whole(stream.read())
        except Exception:  # a damaged file may raise anything
            return {}
        return dict(super()._load_index()) if whole else {}  # type: ignore[no-untyped-call]

    def _load_data(self, name: str) -> Any:
        if not _is_whole(Path(self._data_path(name)).read_bytes()):  # type: ignore[no-untyped-call]
            raise OSError("the entry is damaged")  # the compiler takes that for a missing file
        return super()._load_data(name)  # type: ignore[no-untyped-call]


def _is_whole(data: bytes) -> bool:
    size = hashlib.sha256().digest_size
    return hashlib.sha256(data[:-size]).digest() == data[-size:]


def _compiling(**options: Any) -> Any:
    """Return the decorator that compiles a function and keeps it in the user's cache."""
    compiles = njit(cache=True, nogil=True, error_model="numpy", **options)

    def decorate(function: Any) -> Any:
        compiled = compiles(function)
        if not hasattr(compiled, "typingctx"):  # the compiler is switched off: plain Python
            return compiled
        entries = getattr(getattr(compiled, "_cache", None), "_cache_file", None)
        if type(entries) is IndexDataCacheFile:
            entries.__class__ = CheckedEntries
        return called_through(compiled, function)

    return decorate


kernel = cast("partial[_JITWrapper]", partial(_compiling))

# A kernel that makes no array. The others count the owners of every array they are given, up at
# entry and down at return, with instructions that lock the bus: of a rod and its scratch arrays
# more than fifty a call. The compiler refuses what would make an array here.
lean_kernel = partial(kernel, _nrt=False)
