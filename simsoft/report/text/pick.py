"""The text of a pick: the change, its allowed band, the runners-up, or the nearest miss."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from simsoft.design.brief import Finding
from simsoft.design.candidates import Candidate
from simsoft.design.cost import METAL, MOULDED, Cost
from simsoft.design.front import traded
from simsoft.design.pick import Pick, hindrance, most_missed
from simsoft.design.pick_two import Two, advised, nearest_to_brief
from simsoft.design.rank import Confirmed
from simsoft.report.text.brief import brief_lines, brief_verdict, folded
from simsoft.report.text.change import change_sentence
from simsoft.report.text.front import front_sentence
from simsoft.report.text.sweep import aligned, plain_value, score_text, short
from simsoft.report.text.tolerance import percent
from simsoft.report.units import LengthUnit, show, told_in

MOST_ROWS = 16
MOST_PAIRS = 3  # told beside the advised one
MARGIN = (
    "Margin: how far inside the nearest limit, every input in its middle; 1 is half of the "
    "number. Below zero it misses: -1 is off by a factor of two (of 1.5 where more is wanted)."
)


def pick_text(
    title: str,
    picks: Sequence[Pick],
    confirmed: Sequence[Confirmed],
    unit: LengthUnit,
    fast: bool,
    two: Sequence[Two] = (),
    costs: Cost | None = None,
    own: Candidate | None = None,
) -> str:
    """Return the whole text; ``picks`` and ``two`` are in order, ``confirmed`` as advised.

    ``own`` is the bait as it stands.
    """
    lead, *more = pick_sentences(picks, two, unit, costs, own)
    lines = folded(f"{title}: {lead}")
    lines += [line for told in more for line in folded(told, "  ", "    ")]
    for item in confirmed:
        name = ", ".join(
            f"{short(p)} {plain_value(v)}" for p, v in (_split(text) for text in item.values)
        )
        word = brief_verdict(item.findings) if item.findings else "could not be run"
        lines += ["", f"Run forward with bands, {name}: {word}"]
        lines += brief_lines(item.findings, unit)
        if item.reason:
            lines += folded(item.reason, "  ")
    advice = advised(picks, two, picks[0].sure)
    lines += ["", *folded(MARGIN), "", *_table(picks[0], advice)]
    if two:
        lines += ["", *_pairs_table(two, advice)]
    for pick in picks[1:]:
        lines += ["", *_table(pick, advice)]
    edge = front_sentence(traded(design for pick in picks for design in named(pick)), unit)
    lines += ["", *folded(edge)] if edge else []
    if fast:
        lines += folded("Candidates screened without a march; the runs with bands are marched.")
    return "\n".join(lines) + "\n"


def pick_sentences(
    picks: Sequence[Pick],
    two: Sequence[Two],
    unit: LengthUnit,
    costs: Cost | None = None,
    own: Candidate | None = None,
) -> list[str]:
    """Return the answer in sentences: what is advised first, then each key, pairs and costs.

    Parameters
    ----------
    picks : sequence of Pick, ranked
    two : sequence of Two, the advised one first; empty where none was tried
    unit : 'mm' or 'inch'
    costs : Cost or None, of one more mould
    own : Candidate or None, the bait as it stands
    """
    found = advised(picks, two, picks[0].sure)
    chosen = nearest_to_brief(picks, two) if found is None else found
    tried = chosen.tried if isinstance(chosen, Two) else chosen.chosen
    told = [_lead(found, chosen, picks, two, unit), *map(change_sentence, tried.changes)]
    if own is not None and own.chance is not None:
        told.append(f"As it stands the bait meets it in {percent(own.chance)} of samples.")
    told += [_single(p, unit) for p in picks if p is not chosen and not p.idle]
    told += _idle([p for p in picks if p is not chosen and p.idle])
    told += _other_pairs(two, chosen)
    told += [f"{p.axis.bound}." for p in picks if p.axis.bound]
    asked = {p.cost for p in picks} & {MOULDED, METAL}
    if costs is not None and asked:
        told.append(
            f"What a mould costs: one more resin loop {costs.loop:.3g}, metal again "
            f"{costs.metal:.3g} ([shop]; defaults are common practice, no source)."
        )
    return list(dict.fromkeys(told))


def _lead(
    found: Pick | Two | None,
    chosen: Pick | Two,
    picks: Sequence[Pick],
    two: Sequence[Two],
    unit: LengthUnit,
) -> str:
    """Return the sentence that stands first."""
    sure = f"{100 * picks[0].sure:.0f} %"
    if found is None:
        ranges = "none in range, alone or two at once" if two else "none in range"
        return f"{ranges}. Nearest is {_change(chosen)}: {_missing(chosen, unit)}"
    if isinstance(found, Two):
        met = percent(found.tried.chance)
        if found.does(picks[0].sure):
            return (
                f"no single change meets the brief in {sure} of samples. Two at once: "
                f"{_change(found)}, the least that does of {len(two)} pairs tried: met by {met}."
            )
        return (
            f"no change, alone or two at once, meets the brief in {sure} of samples. Surest of "
            f"{len(two)} pairs tried: {_change(found)}, met by {met}.{_often(found.tried, unit)}"
        )
    if found.idle and not found.does:
        best = f"{change_text(found)}, met by {percent(found.chosen.chance)}"
        return f"nothing looked through is told from the bait as it stands. Surest is {best}."
    lead = _headline(found)
    if found.does:
        return lead
    none = f"None of {len(two)} pairs tried is surer." if two else f"None meets it in {sure}."
    return f"{lead} {none}{_often(found.chosen, unit)}"


def _often(tried: Candidate, unit: LengthUnit) -> str:
    """Return what stands most in the way of a change that meets too seldom."""
    if tried.missed is None:
        return ""
    clause, share = tried.missed
    return f" Most of its misses: {told_in(clause.name, unit)}, in {100 * share:.0f} % of samples."


def _headline(pick: Pick) -> str:
    """Return a pick that meets the brief in its middle in a sentence."""
    assert pick.best is not None
    if pick.least is not None:
        surest = ""
        if pick.least is not pick.best:
            surest = (
                f" Surest is {plain_value(pick.best.value)}, met by {percent(pick.best.chance)}."
            )
        return (
            f"{change_text(pick)}, the least change that meets the brief in "
            f"{100 * pick.sure:.0f} % of samples: {percent(pick.least.chance)}.{surest}"
        )
    low, high = map(plain_value, pick.keep)
    keep = f", keep {low} to {high}" if low != high else ""
    if pick.best in (pick.candidates[0], pick.candidates[-1]):
        keep += " (at the end of what was looked through)"
    return f"{change_text(pick)}{keep}; met by {percent(pick.best.chance)} of samples."


def _single(pick: Pick, unit: LengthUnit) -> str:
    """Return what one key does alone, beside what is advised."""
    if pick.best is None:
        return f"{varied(pick)} alone does not do it: {miss_text(pick, unit)}"
    met = f"met by {percent(pick.chosen.chance)} of samples"
    only = "" if pick.does else ", the best that it does"
    return f"or {change_text(pick)}: {met}{only}"


def _idle(picks: Sequence[Pick]) -> Iterator[str]:
    """Yield the keys whose best the samples do not tell from the bait as it stands."""
    if picks:
        names = ", ".join(map(varied, picks))
        yield f"{names}: no value is told from the bait as it stands by these samples"


def _other_pairs(two: Sequence[Two], chosen: Pick | Two) -> Iterator[str]:
    """Yield the next best pairs, each pair of keys once."""
    seen = [chosen.levers] if isinstance(chosen, Two) else []
    for item in two:
        if len(seen) > MOST_PAIRS or not item.tried.middle.passes:
            return
        if item.levers not in seen and item.tried.chance is not None:
            seen.append(item.levers)
            yield f"or two at once, {_change(item)}: met by {percent(item.tried.chance)} of samples"


def varied(pick: Pick) -> str:
    """Return what a pick varies, in words."""
    return short(pick.axis.path).replace("_", " ")


def named(pick: Pick) -> list[tuple[str, list[Finding], bool]]:
    """Return what was tried of a key: its value in words, its findings, whether it meets all."""
    return [
        (f"{varied(pick)} {plain_value(c.value)}", c.middle.findings, c.middle.passes)
        for c in pick.candidates
    ]


def _split(text: str) -> tuple[str, str]:
    path, _, value = text.partition("=")
    return path, value


def _change(chosen: Pick | Two) -> str:
    if isinstance(chosen, Pick):
        return change_text(chosen)
    both = " and ".join(
        _moved(lever, value) for lever, value in zip(chosen.levers, chosen.values, strict=True)
    )
    return f"{both} ({chosen.cost})" if chosen.cost else both


def change_text(pick: Pick) -> str:
    """Return the change that a pick asks for."""
    cost = f" ({pick.cost})" if pick.cost and pick.best is not None else ""
    moved = _moved(pick, pick.chosen.value)
    return moved if pick.before == pick.chosen.value else f"{moved}{cost}"


def _moved(pick: Pick, value: str) -> str:
    if pick.before and pick.before == value:
        return f"{varied(pick)} stays {plain_value(value)}"
    before = f"{plain_value(pick.before)} -> " if pick.before else ""
    return f"{varied(pick)} {before}{plain_value(value)}"


def _missing(chosen: Pick | Two, unit: LengthUnit) -> str:
    """Return what the nearest change misses."""
    if isinstance(chosen, Pick):
        return miss_text(chosen, unit)
    reason = most_missed(chosen.tried)
    return _unanswered(chosen.tried) if reason is None else f"misses {_missed(reason, unit)}"


def miss_text(pick: Pick, unit: LengthUnit) -> str:
    """Return what the nearest candidate of a key misses, and what stands against more of it."""
    reason = pick.reason
    if reason is None:
        return _unanswered(pick.nearest)
    told = f"{varied(pick)} {plain_value(pick.nearest.value)} misses {_missed(reason, unit)}"
    against = hindrance(pick)
    if against is None:
        return f"{told}; no value looked through meets that"
    there = plain_value(against.value)
    return f"{told}; {there} meets that and misses {_missed(against.other, unit)}"


def _unanswered(tried: Candidate) -> str:
    return tried.middle.reason or "no answer"


def _missed(reason: Finding, unit: LengthUnit) -> str:
    record = reason.record
    behind = f"; {reason.reason}" if reason.reason else ""
    if record is not None and record.value is not None:
        behind = f" ({show(record, unit)}{behind})"
    return f"{told_in(reason.clause.name, unit)}{behind}"


def _table(pick: Pick, advice: Pick | Two | None) -> list[str]:
    rows = [[short(pick.axis.path), "middle", "margin", "samples that meet the brief"]]
    step = max(1, len(pick.candidates) // MOST_ROWS)
    for candidate in pick.candidates[::step]:
        mark = " <- pick" if candidate is pick.chosen and advice is pick else ""
        rows.append(
            [
                plain_value(candidate.value),
                "meets" if candidate.middle.passes else "misses",
                score_text(candidate.middle.margin),
                percent(candidate.chance) + mark,
            ]
        )
    return aligned(rows)


def _pairs_table(two: Sequence[Two], advice: Pick | Two | None) -> list[str]:
    rows = [["two at once", "middle", "margin", "samples that meet the brief"]]
    for pair in two[:MOST_ROWS]:
        named = zip(pair.levers, pair.values, strict=True)
        rows.append(
            [
                ", ".join(f"{varied(lever)} {plain_value(value)}" for lever, value in named),
                "meets" if pair.tried.middle.passes else "misses",
                score_text(pair.tried.middle.margin),
                percent(pair.tried.chance) + (" <- pick" if pair is advice else ""),
            ]
        )
    return aligned(rows)
