"""How wide the prose of an answer is: 80 columns, or what the reader's terminal holds.

Tables keep their 80 columns, since a row that is broken cannot be read.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar

WIDTH = 80  # columns
_PROSE: ContextVar[int] = ContextVar("prose", default=WIDTH)


def width() -> int:
    """Return the columns that prose is broken to."""
    return _PROSE.get()


@contextmanager
def narrowed(columns: int) -> Iterator[None]:
    """Break prose to ``columns`` in the block, at most ``WIDTH``."""
    token = _PROSE.set(min(columns, WIDTH))
    try:
        yield
    finally:
        _PROSE.reset(token)
