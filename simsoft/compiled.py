"""The decorator of every compiled kernel, and where compiled code is kept.

Compiled code is cached under a digest of the kernels' sources. The compiler's own cache looks
only at the file of the function it is asked for, so a change in a function that a kernel calls
would go unnoticed; a digest over all kernel files cannot miss it. The place is the user's
cache directory, so that a read-only installation works too; ``SIMSOFT_CACHE`` moves it.
"""

from __future__ import annotations

import hashlib
import os
from functools import lru_cache, partial
from pathlib import Path

import numba
from numba import njit

KERNEL_PACKAGES = ("structure", "loads", "solve", "resolved")
KERNEL_MARKS = (b"kernel(", b"NamedTuple")  # what a file holds whose change asks for compiling


@lru_cache(maxsize=1)
def cache_directory() -> Path:
    """Return the directory that holds the compiled kernels of exactly these sources."""
    digest = hashlib.sha256(f"{numba.__version__}".encode())
    package = Path(__file__).parent
    for folder in KERNEL_PACKAGES:
        for source in sorted((package / folder).glob("*.py")):
            text = source.read_bytes()
            if any(mark in text for mark in KERNEL_MARKS):
                digest.update(source.name.encode())
                digest.update(text)
    stated = os.environ.get("SIMSOFT_CACHE")
    if stated:
        root = Path(stated)
    else:
        root = Path(os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache") / "simsoft"
    return root / digest.hexdigest()[:16]


def is_cold(kernel: str = "") -> bool:
    """Return whether nothing has been compiled yet for these sources on this machine.

    With the name of a ``kernel``, whether that one has not.
    """
    here = cache_directory()
    pattern = f"*{kernel}*.nbi" if kernel else "*.nbi"
    return not here.is_dir() or next(here.rglob(pattern), None) is None


setattr(numba.config, "CACHE_DIR", str(cache_directory()))  # noqa: B010

kernel = partial(njit, cache=True, nogil=True, error_model="numpy")

# A kernel that makes no array. The others count the owners of every array they are given, up at
# entry and down at return, with instructions that lock the bus: of a rod and its scratch arrays
# more than fifty a call. The compiler refuses what would make an array here.
lean_kernel = partial(kernel, _nrt=False)
