"""Faults on purpose: kills, full disks, turned bits, clocks that jump."""

from __future__ import annotations

import contextlib
import os
import resource
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from unittest import mock

STEP = 4096  # bytes of a disk


def in_a_child(use: Callable[[], object], said: Path, after: float | None = None) -> int | None:
    """Run the command line in a forked child; return its exit status, None where it was killed.

    Parameters
    ----------
    use : function that ends by SystemExit, such as ``lambda: main([...])``
    said : file for its stdout and stderr
    after : float [s] or None, when it is killed
    """
    child = os.fork()
    if child == 0:
        _be_the_child(use, said)
    if after is not None:
        end = time.monotonic() + after
        while time.monotonic() < end:
            if _ended(child):
                break
            time.sleep(0.002)
        with contextlib.suppress(ProcessLookupError):
            os.kill(child, signal.SIGKILL)
    _, status = os.waitpid(child, 0)
    return None if os.WIFSIGNALED(status) else os.WEXITSTATUS(status)


def _ended(child: int) -> bool:
    """Tell whether a child has ended, without taking its status."""
    flags = os.WEXITED | os.WNOHANG | os.WNOWAIT
    return os.waitid(os.P_PID, child, flags) is not None


def _be_the_child(use: Callable[[], object], said: Path) -> None:
    status = 70
    try:
        handle = os.open(said, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600)
        os.dup2(handle, 1)
        os.dup2(handle, 2)
        sys.stdout = os.fdopen(1, "w", closefd=False)
        sys.stderr = os.fdopen(2, "w", closefd=False)
        use()
        status = 0
    except SystemExit as end:
        status = end.code if isinstance(end.code, int) else 0 if end.code is None else 1
    except BaseException:
        import traceback

        traceback.print_exc()
    finally:
        with contextlib.suppress(Exception):
            sys.stdout.flush()
            sys.stderr.flush()
        os._exit(status)


def may_mount() -> bool:
    """Tell whether file systems of a stated size can be mounted here."""
    return hasattr(os, "getuid") and os.getuid() == 0 and _mounts()


def _mounts() -> bool:
    import tempfile

    with tempfile.TemporaryDirectory() as folder:
        words = ["mount", "-t", "tmpfs", "-o", f"size={STEP}", "tmpfs", folder]
        if subprocess.run(words, capture_output=True, check=False).returncode:
            return False
        subprocess.run(["umount", folder], check=True)
        return True


class Disk:
    """A folder on a file system of its own, whose size can be changed.

    Where nothing may be mounted, every single file is limited instead: a disk that fails while
    the file at hand is written.
    """

    def __init__(self, folder: Path, mounted: bool) -> None:
        self.folder, self.mounted = folder, mounted

    def resize(self, size: int | None) -> None:
        """Set the size [bytes], None for as much as is wanted."""
        if self.mounted:
            option = f"remount,size={size or 1 << 30}"
            subprocess.run(["mount", "-o", option, str(self.folder)], check=True)
        else:
            limit = resource.RLIM_INFINITY if size is None else size
            resource.setrlimit(resource.RLIMIT_FSIZE, (limit, resource.RLIM_INFINITY))
            signal.signal(signal.SIGXFSZ, signal.SIG_IGN)


@contextlib.contextmanager
def disk(folder: Path) -> Iterator[Disk]:
    """Give a folder whose disk can be made full."""
    folder.mkdir()
    mounted = may_mount()
    if mounted:
        words = ["mount", "-t", "tmpfs", "-o", f"size={1 << 30}", "tmpfs", str(folder)]
        subprocess.run(words, check=True)
    found = Disk(folder, mounted)
    try:
        yield found
    finally:
        if mounted:
            subprocess.run(["umount", "-l", str(folder)], check=True)
        else:
            found.resize(None)


def flipped(data: bytes, bit: int) -> bytes:
    """Return bytes with one bit turned."""
    changed = bytearray(data)
    changed[bit // 8] ^= 1 << bit % 8
    return bytes(changed)


@contextlib.contextmanager
def jumping_clock(jumps: Iterator[float]) -> Iterator[None]:
    """Move the wall clock by the next of the jumps [s] whenever it is asked."""
    true = time.time

    def now() -> float:
        return true() + next(jumps, 0.0)

    with mock.patch("time.time", now):
        yield
