"""Markup that cannot be forged: whatever is not markup already is text and is escaped."""

from __future__ import annotations

import json
from collections.abc import Iterable
from html import escape
from typing import Any

VOID = {"meta", "line", "path", "polyline", "polygon", "rect", "circle", "input", "br", "img"}


class Html(str):
    """Text that is markup; ``tag`` makes it, and nothing else should."""


def text(words: str) -> Html:
    """Return words as text of a page, without characters that steer it."""
    return Html(escape("".join(c if c.isprintable() else " " for c in words), quote=True))


def verbatim(words: str) -> Html:
    """Return words as text of a page, their lines kept."""
    return Html("\n".join(text(line) for line in words.split("\n")))


def tag(name: str, *children: str | Html | Iterable[str | Html], **attributes: Any) -> Html:
    """Return an element.

    Parameters
    ----------
    name : str, of the element
    children : str, Html or iterables of them; a plain str is escaped
    attributes : str, number or bool by name, a trailing underscore dropped, other underscores as
        hyphens; None and False leave one out
    """
    told = "".join(_attribute(key, value) for key, value in attributes.items())
    inside = joined(*children)
    end = "" if name in VOID and not inside else f"{inside}</{name}>"
    return Html(f"<{name}{told}>{end}" if end or name not in VOID else f"<{name}{told}/>")


def joined(*children: str | Html | Iterable[str | Html]) -> Html:
    """Return pieces of markup and text one after the other."""
    pieces = []
    for child in children:
        if isinstance(child, Html):
            pieces.append(str(child))
        elif isinstance(child, str):
            pieces.append(str(text(child)))
        else:
            pieces.append(str(joined(*child)))
    return Html("".join(pieces))


def data(identifier: str, value: Any) -> Html:
    """Return plain data as a block that scripts read and browsers never run."""
    body = json.dumps(value, allow_nan=False, separators=(",", ":"))  # ASCII
    body = body.replace("<", "\\u003c").replace(">", "\\u003e").replace("&", "\\u0026")
    return Html(f'<script type="application/json" id="{identifier}">{body}</script>')


def _attribute(key: str, value: Any) -> str:
    if value is None or value is False:
        return ""
    name = key.rstrip("_").replace("_", "-")
    if name == "viewbox":
        name = "viewBox"
    return f" {name}" if value is True else f' {name}="{text(str(value))}"'
