"""``simsoft guide``: the pages on what a case holds, how far to trust it and what to do then."""

from __future__ import annotations

import io
import sys
from importlib import resources
from importlib.resources.abc import Traversable

import click

from simsoft.cli import complete
from simsoft.cli.console import terminal_columns
from simsoft.core.errors import InputError

NARROWEST, WIDEST = 60, 100  # columns of the text


@click.command()
@click.argument("topic", required=False, shell_complete=complete.topics)
@click.option("--path", "as_path", is_flag=True, help="Print where the page lies instead.")
def guide(topic: str | None, as_path: bool) -> int:
    """List the pages of the guide; with a TOPIC, show that page."""
    if topic is None:
        if as_path:
            raise InputError("--path is of one page; name its TOPIC")
        click.echo(_list(guide_pages()))
        return 0
    page = _page(topic)
    click.echo(str(page) if as_path else _rendered(page.read_text(encoding="utf-8")))
    return 0


def guide_pages() -> dict[str, Traversable]:
    """Return the pages of the guide by topic, in the order of the alphabet."""
    folder = resources.files("simsoft") / "guide"
    found = {p.name.removesuffix(".md"): p for p in folder.iterdir() if p.name.endswith(".md")}
    return dict(sorted(found.items()))


def _page(topic: str) -> Traversable:
    """Return the page on a topic.

    Raises
    ------
    InputError
        There is no such page.
    """
    from simsoft.case.wording import given, suggestion

    pages = guide_pages()
    if topic not in pages:
        near = suggestion(topic, list(pages))
        raise InputError(
            f"{given(topic)} is no page of the guide{near}; `simsoft guide` lists them"
        )
    return pages[topic]


def _list(pages: dict[str, Traversable]) -> str:
    """Return one line a page: topic and heading."""
    width = max(map(len, pages))
    heads = {topic: page.read_text(encoding="utf-8") for topic, page in pages.items()}
    lines = [f"{topic:<{width}}  {_heading(text)}" for topic, text in heads.items()]
    return "\n".join([*lines, "", "`simsoft guide TOPIC` shows a page."])


def _heading(text: str) -> str:
    return text.partition("\n")[0].removeprefix("# ")


def _rendered(text: str) -> str:
    """Return a Markdown page as plain lines for the terminal."""
    from rich.console import Console
    from rich.markdown import Markdown

    width = max(terminal_columns(WIDEST), NARROWEST)
    written = io.StringIO()
    looked_at = sys.stdout.isatty()
    console = Console(file=written, width=width, force_terminal=looked_at, no_color=True)
    console.print(Markdown(text, hyperlinks=False))
    return "\n".join(line.rstrip() for line in written.getvalue().splitlines())
