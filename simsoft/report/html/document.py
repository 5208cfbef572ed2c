"""What every page has: template, style, content policy, footer.

The policy forbids everything but the page's own style and script, each by its hash.
"""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Sequence
from importlib import resources
from string import Template

from simsoft.report.html.markup import Html, joined, tag, text
from simsoft.report.text.run import CAUTIONS
from simsoft.results.hdf5_reader import Stored

STYLE = "page.css"


def document(
    title: str, heading: Html, standing: str, main: Sequence[Html], foot: Html, script: str = ""
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
    """
    style = asset(STYLE)
    return Template(asset("page.html")).substitute(
        policy=policy(style, script),
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


def policy(style: str, script: str) -> str:
    """Return the content policy that allows one style and at most one script."""
    kinds = [("style", style)] + ([("script", script)] if script else [])
    allowed = [f"{kind}-src '{_hash(body)}'" for kind, body in kinds]
    return "; ".join(["default-src 'none'", *allowed, "base-uri 'none'", "form-action 'none'"])


def _hash(body: str) -> str:
    digest = hashlib.sha256(body.encode()).digest()
    return f"sha256-{base64.b64encode(digest).decode()}"


def section(identifier: str, title: str, *children: Html | Sequence[Html]) -> Html:
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


def footer(stored: Stored) -> Html:
    """Return cautions, versions, date and digest of a run."""
    versions = ", ".join(f"{name} {version}" for name, version in stored.versions.items())
    return joined(
        [tag("p", caution, class_="caution") for caution in CAUTIONS],
        tag("p", f"{versions}. Run {stored.created}. Case SHA-256 {stored.digest}."),
    )
