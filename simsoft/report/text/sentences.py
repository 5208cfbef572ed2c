"""A run's answers as sentences, grouped as they belong together; text and page share them."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from simsoft.design.asked import Case
from simsoft.design.evidence import evidence
from simsoft.design.sweep.table import WATER
from simsoft.report.text.answer import (
    doubt,
    headline,
    how_fast,
    how_sure,
    how_wide,
    side_by_side,
)
from simsoft.report.text.cast import cast_answer, is_cast
from simsoft.report.text.clearance import body_sentence, hook_sentence
from simsoft.report.text.motion import is_motion, motion_answer
from simsoft.report.text.recipe import recipe_lines
from simsoft.report.units import LengthUnit
from simsoft.results.record import Record
from simsoft.results.result import RunResult

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
    name: str, records: Sequence[Record], unit: LengthUnit, rests: str | None = None
) -> tuple[str, dict[str, str]] | None:
    """Return the answer about one part, None where it was not asked anything.

    Parameters
    ----------
    name : str, as the sentence calls the part
    records : sequence of Record of one scenario and part
    unit : 'mm' or 'inch'
    rests : str or None, what its beat rests on, see ``evidence``

    Returns
    -------
    lead : str, the answer
    more : dict of str, further sentences by their label
    """
    hook, body = hook_sentence(records, unit), body_sentence(records, unit)
    if not MOVES & {r.quantity for r in records}:
        return None if hook is None else (f"{name} {hook}", {"Body": body} if body else {})
    sentences = {
        "Hook": hook,
        "Body": body,
        "How fast": how_fast(records, unit),
        "Side by side": side_by_side(records, unit),
        "How sure": how_sure(records, unit),
        "How wide": how_wide(records, unit),
        "Rests on": rests,
        "In doubt": doubt(records),
    }
    return headline(name, records, unit), {k: v for k, v in sentences.items() if v}


class Group(NamedTuple):
    """The answer about one part, a pair or the whole lure in one scenario.

    Attributes
    ----------
    scenario : str
    names : tuple of str, of the parts; of the whole lure one that is empty
    records : tuple of Record, of the first of them
    lead : str, the answer
    more : tuple of (label, sentence)
    """

    scenario: str
    names: tuple[str, ...]
    records: tuple[Record, ...]
    lead: str
    more: tuple[tuple[str, str], ...]


def answer_groups(result: RunResult) -> list[Group]:
    """Return the answers of a run in the order of its scenarios, mirrored pairs told once."""
    found = [
        Group(scenario, names, tuple(records), *_told(result.case, scenario, names, records))
        for scenario, names, records in told_once(result.records)
    ]
    return [group for group in found if group.lead]


def told_once(records: Sequence[Record]) -> list[tuple[str, tuple[str, ...], list[Record]]]:
    """Return scenario, parts and records of every answer, a pair that does the same once.

    Parameters
    ----------
    records : sequence of Record of a run; those of no scenario are left out
    """
    found: list[tuple[str, tuple[str, ...], list[Record]]] = []
    for (scenario, part), mine in groups([r for r in records if r.scenario]).items():
        for place, (other, names, known) in enumerate(found):
            if other == scenario and names[0] and part and _alike(known, mine):
                found[place] = (scenario, (*names, part), known)
                break
        else:
            found.append((scenario, (part,), mine))
    return found


def name_of(names: Sequence[str]) -> str:
    """Return the name of one part, or of each of a pair."""
    if len(names) == 1:
        return names[0] or "whole lure"
    return "each " + " or ".join(dict.fromkeys(name.partition("/")[0] for name in names))


def _alike(known: Sequence[Record], records: Sequence[Record]) -> bool:
    """Tell whether records say the same as others but for the side they are on."""
    return len(known) == len(records) and all(
        (a.quantity, a.at) == (b.quantity, b.at)
        and (isinstance(a.value, tuple) or (a.value, a.low, a.high) == (b.value, b.low, b.high))
        for a, b in zip(known, records, strict=True)
    )


def _told(
    case: Case, scenario: str, names: tuple[str, ...], records: Sequence[Record]
) -> tuple[str, tuple[tuple[str, str], ...]]:
    """Return lead and further sentences of a group."""
    unit = case.length_unit
    lead = ""
    more: list[tuple[str, str]] = []
    if is_cast(records):
        lead, *rest = cast_answer(scenario, records, unit)
        more = [_labelled(line) for line in rest]
    elif is_motion(records):
        lead, *rest = motion_answer(scenario, records, unit)
        more = [("", line) for line in (*rest, *recipe_lines(records, unit))]
    else:
        rests = evidence(case, names, records)
        about = about_part(f"{scenario}: {name_of(names)}", records, unit, rests)
        if about is not None:
            lead, more = about[0], list(about[1].items())
    return lead, tuple(more)


def _labelled(line: str) -> tuple[str, str]:
    label, colon, rest = line.strip().partition(": ")
    return (label, rest) if colon and len(label) < 20 else ("", line.strip())
