"""What every page has: template, style, content policy, footer.

The policy forbids everything but the page's own style and script, each by its hash.
"""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Mapping, Sequence
from importlib import resources
from string import Template

from simsoft.report.html.markup import Html, joined, tag, text
from simsoft.report.text.asked import asked_texts
from simsoft.report.text.run import CAUTIONS
from simsoft.results.hdf5_reader import Stored

STYLE = "page.css"


def document(
    title: str,
    heading: Html,
    standing: str,
    main: Sequence[Html],
    foot: Html,
    script: str = "",
    *,
    pictures: bool = False,
    asks: bool = False,
) -> str:
    """Return a whole page as HTML.

    Parameters
    ----------
    title : str, in the browser's tab; the verdict first
    heading : Html
    standing : str, the line below it
    main : sequence of Html, its sections
    foot : Html
    script : str, the only one that runs
    pictures : bool, pictures of pixels stand in the page
    asks : bool, it may ask the server that it comes from, and no other
    """
    style = asset(STYLE)
    return Template(asset("page.html")).substitute(
        policy=policy(style, script, pictures=pictures, asks=asks),
        title=text(title),
        style=style,
        heading=heading,
        standing=text(standing),
        main=joined(main),
        footer=foot,
        script=Html(f"<script>{script}</script>") if script else "",
    )


def asset(name: str) -> str:
    """Return a file of the page's template."""
    return resources.files(__package__).joinpath("assets", name).read_text(encoding="utf-8")


def policy(style: str, script: str, *, pictures: bool = False, asks: bool = False) -> str:
    """Return the content policy: one style, at most one script, pictures inside the page if any."""
    kinds = [("style", style)] + ([("script", script)] if script else [])
    allowed = [f"{kind}-src '{_hash(body)}'" for kind, body in kinds]
    allowed += ["img-src data:"] if pictures else []
    allowed += ["connect-src 'self'"] if asks else []
    return "; ".join(["default-src 'none'", *allowed, "base-uri 'none'", "form-action 'none'"])


def _hash(body: str) -> str:
    digest = hashlib.sha256(body.encode()).digest()
    return f"sha256-{base64.b64encode(digest).decode()}"


def page_section(identifier: str, title: str, *children: Html | Sequence[Html]) -> Html:
    """Return a section of a page with its heading."""
    heading = tag("h2", title, id=f"{identifier}-name")
    named = {"id": identifier, "aria_labelledby": f"{identifier}-name"}
    return tag("section", heading, *children, **named)


def grid(
    head: Sequence[str], rows: Sequence[Sequence[str | Html]], *, broken: bool = False
) -> Html:
    """Return a table that scrolls sideways where the page is narrow.

    Parameters
    ----------
    head : sequence of str
    rows : sequence of rows of cells
    broken : bool, cells may be broken into lines before that
    """
    names = tag("tr", (tag("th", name, scope="col") for name in head))
    lines = [tag("tr", (tag("td", cell) for cell in row)) for row in rows]
    table = tag("table", tag("thead", names), tag("tbody", lines))
    return tag("div", table, class_="wide broken" if broken else "wide")


def stacked(head: Sequence[str], rows: Sequence[Sequence[str | Html]]) -> Html:
    """Return a table whose cells stand below each other where the page is narrow."""
    names = tag("tr", (tag("th", name, scope="col") for name in head))
    lines = [
        tag("tr", (tag("td", cell, data_label=name) for name, cell in zip(head, row, strict=True)))
        for row in rows
    ]
    return tag("table", tag("thead", names), tag("tbody", lines), class_="brief")


def footer(stored: Stored) -> Html:
    """Return what was asked, cautions, versions, date and digest of a run."""
    made = credits(stored.versions, f"Run {stored.created}. Case SHA-256 {stored.digest}.")
    return joined([tag("p", text) for text in asked_texts(stored.result)[:-1]], made)


def credits(versions: Mapping[str, str], made: str) -> Html:
    """Return cautions, versions, and when it was made of what."""
    told = ", ".join(f"{name} {version}" for name, version in versions.items())
    cautions = [tag("p", caution, class_="caution") for caution in CAUTIONS]
    return joined(cautions, tag("p", f"{told}. {made}"))
