"""Pages of everything but a run: verdict, sections, what stands on the terminal, the case."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from pathlib import Path
from typing import NamedTuple

from simsoft.core.files import write_text
from simsoft.report.csv import rows_csv
from simsoft.report.html.document import credits, document, page_section
from simsoft.report.html.markup import Html, joined, tag, verbatim
from simsoft.results.hdf5 import package_versions

Cell = float | int | str | None


class Sheet(NamedTuple):
    """What a command answers, as a page holds it.

    Attributes
    ----------
    word : str, the verdict
    class_ : str, its colour: 'go', 'marginal', 'no-go' or 'open'
    title : str, of the case
    standing : str, a sentence below
    sections : sequence of Html
    head, rows : the table that goes to CSV, SI units; none where both are empty
    pictures : bool, its sections hold pictures of pixels
    """

    word: str
    class_: str
    title: str
    standing: str
    sections: Sequence[Html]
    head: Sequence[str]
    rows: Sequence[Sequence[Cell]]
    pictures: bool = False


def sheet_page(sheet: Sheet, text: str, case: str, made: str) -> str:
    """Return a page as HTML.

    Parameters
    ----------
    sheet : Sheet
    text : str, what the terminal shows
    case : str, text of the case; empty where there is none
    made : str, date and time
    """
    told = tag("details", tag("summary", "As on the terminal"), _pre(text))
    behind = [told, *([tag("details", tag("summary", "The case"), _pre(case))] if case else [])]
    badge = tag("span", sheet.word, class_=f"badge {sheet.class_}")
    digest = f" Case SHA-256 {hashlib.sha256(case.encode()).hexdigest()}." if case else ""
    return document(
        f"{sheet.word}: {sheet.title}",
        joined(badge, " ", sheet.title),
        sheet.standing,
        [*sheet.sections, page_section("behind", "Behind it", behind)],
        credits(package_versions(), f"Made {made}.{digest}"),
        pictures=sheet.pictures,
    )


def write_sheet(
    directory: Path, stem: str, sheet: Sheet, text: str, body: str, case: str, made: str
) -> list[Path]:
    """Write page, text, JSON and CSV of an answer; return the files.

    Parameters
    ----------
    directory : Path, existing
    stem : str, of the files' names
    sheet, text, case, made : as `sheet_page`
    body : str, JSON

    Raises
    ------
    OutputError
        If one cannot be written.
    """
    told = {
        "html": sheet_page(sheet, text, case, made),
        "txt": text,
        "json": body.rstrip("\n") + "\n",
    }
    if sheet.head:
        told["csv"] = rows_csv(sheet.head, sheet.rows)
    return [write_text(directory / f"{stem}.{end}", body) for end, body in told.items()]


def _pre(text: str) -> Html:
    return tag("pre", verbatim(text.rstrip("\n")), tabindex=0)
