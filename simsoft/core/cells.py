"""Cells of a table that a spreadsheet opens: text stays text."""

from __future__ import annotations

import re

# A spreadsheet reckons with a text that begins so, and one that begins with a tab is trimmed first.
FORMULA = ("=", "+", "-", "@", "\t", "\r")
_NUMBER = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?")


def text_cell(text: str) -> str:
    """Return a text as a cell on one line, of which no spreadsheet makes a formula.

    Characters that steer a terminal become blanks; a plain number is left as it is.
    """
    shown = " ".join("".join(c if c.isprintable() else " " for c in text).split())
    return f"'{shown}" if shown.startswith(FORMULA) and not _NUMBER.fullmatch(shown) else shown
