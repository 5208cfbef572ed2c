"""A run's answers as sentences, grouped as they belong together; text and page share them."""

from __future__ import annotations

from collections.abc import Sequence

from simsoft.record import Record
from simsoft.report.answer import doubt, headline, how_fast, how_sure
from simsoft.report.clearance import hook_sentence
from simsoft.report.units import LengthUnit
from simsoft.sweep.table import WATER

MOVES = {"start_speed", "verdict", "natural_frequency"}  # asked whether a part moves


def clean(text: str) -> str:
    """Return text on one line, without characters that could steer a terminal or a page."""
    return " ".join("".join(c if c.isprintable() else " " for c in text).split())


def groups(records: Sequence[Record]) -> dict[tuple[str, str], list[Record]]:
    """Return the records by scenario and part, in the order they came.

    Those in other water than the case's own belong to the brief and are left out.
    """
    found: dict[tuple[str, str], list[Record]] = {}
    for record in records:
        if WATER not in record.at:
            found.setdefault((record.scenario, record.part), []).append(record)
    return found


def about_part(
    name: str, records: Sequence[Record], unit: LengthUnit
) -> tuple[str, dict[str, str]] | None:
    """Return the answer about one part, None where it was not asked anything.

    Parameters
    ----------
    name : str, as the sentence calls the part
    records : sequence of Record of one scenario and part
    unit : 'mm' or 'inch'

    Returns
    -------
    lead : str, the answer
    more : dict of str, further sentences by their label
    """
    hook = hook_sentence(records, unit)
    if not MOVES & {r.quantity for r in records}:
        return None if hook is None else (f"{name} {hook}", {})
    sentences = {
        "Hook": hook,
        "How fast": how_fast(records, unit),
        "How sure": how_sure(records),
        "In doubt": doubt(records),
    }
    return headline(name, records, unit), {k: v for k, v in sentences.items() if v}
