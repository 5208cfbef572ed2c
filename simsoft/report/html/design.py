"""Pages of what is done with a brief: pick, tolerance, sweep."""

from __future__ import annotations

from collections.abc import Sequence

from simsoft.design.brief import NEVER, Finding, summed
from simsoft.design.candidates import Candidate
from simsoft.design.chance_map import ChanceMap
from simsoft.design.cost import Cost
from simsoft.design.front import traded
from simsoft.design.pick import Pick
from simsoft.design.pick_two import Two, advised
from simsoft.design.rank import Confirmed, Ranked, Ranking
from simsoft.design.sensitivity import Agreement, Corner, Effect
from simsoft.design.sweep.run import Sweep
from simsoft.design.sweep.table import SweepTable
from simsoft.design.tolerance import Probability, Sample, Trial, by_clause, convergence, probability
from simsoft.report.html.answers import CLASSES, brief_table
from simsoft.report.html.document import grid, page_section
from simsoft.report.html.markup import Html, tag
from simsoft.report.html.sheet import Sheet
from simsoft.report.html.spans import DesignPoint, Span, against, map_cells, spans, tornado
from simsoft.report.text.brief import clause_name, margin_text
from simsoft.report.text.front import front_sentence
from simsoft.report.text.pick import MARGIN, named, pick_sentences, varied
from simsoft.report.text.sweep import look_words, plain_value, score_text, short, unanswered
from simsoft.report.text.tolerance import corner_sentence, map_title, percent, share_text
from simsoft.report.units import LengthUnit, show, user_unit

LIKELY, UNLIKELY = 0.9, 0.5  # chance of meeting the brief that is called go, and no-go
SHARE = "share of samples that meet the brief [%]"
MOST_EFFECTS = 8
MOST_ROWS = 40


def pick_sheet(
    title: str,
    picks: Sequence[Pick],
    confirmed: Sequence[Confirmed],
    unit: LengthUnit,
    two: Sequence[Two] = (),
    costs: Cost | None = None,
    own: Candidate | None = None,
) -> Sheet:
    """Return what a pick found; parameters as those of its text."""
    found = advised(picks, two, picks[0].sure) is not None
    sections = [page_section("answer", "Answer", _pick_words(picks, two, unit, costs, own))]
    sections.append(page_section("chance", "How often each value does it", _chances(picks)))
    if two:
        sections.append(page_section("two", "Two at once", _pairs_grid(two)))
    traded = _trade([c for p in picks for c in named(p)], unit)
    if traded is not None:
        sections.append(page_section("trade", "What costs what", traded))
    sections += _confirmed(confirmed, unit)
    head = ("key", "value", "meets", "margin_half_bands", "passed", "of", "chance", "low", "high")
    rows = [_candidate_row(p.axis.path, c) for p in picks for c in p.candidates]
    rows += [_candidate_row(" + ".join(p.axis.path for p in t.levers), t.tried) for t in two]
    told = [
        [
            short_change(p.axis.path + "=" + c.value),
            "meets" if c.middle.passes else "misses",
            score_text(c.middle.margin),
            percent(c.chance),
        ]
        for p in picks
        for c in p.candidates
    ]
    names = ("changed", "middle", "margin", "samples that meet the brief")
    table = grid(names, told)
    if len(told) > MOST_ROWS:  # a sheet of paper holds the charts, not every row
        table = tag("details", tag("summary", f"{len(told)} designs, as in pick.csv"), table)
    sections.append(page_section("all", "All that was tried", tag("p", MARGIN), table))
    verdict = summed(confirmed[0].findings) if confirmed and confirmed[0].findings else ""
    word = (verdict or "found") if found else "none in range"
    class_ = CLASSES.get(verdict, "open") if found else "no-go"
    standing = "Every change told, of one value or two, is run forward; none is interpolated."
    return Sheet(word, class_, title, standing, sections, head, rows)


def _pick_words(
    picks: Sequence[Pick],
    two: Sequence[Two],
    unit: LengthUnit,
    costs: Cost | None,
    own: Candidate | None,
) -> list[Html]:
    lead, *rest = pick_sentences(picks, two, unit, costs, own)
    lines = [tag("p", lead, class_="lead")]
    return [*lines, tag("ul", (tag("li", line) for line in rest))] if rest else lines


def _pairs_grid(two: Sequence[Two]) -> Html:
    """Return every pair of changes that was tried, the advised one first."""
    told = [
        [
            ", ".join(map(short_change, pair.sets)),
            pair.cost,
            "meets" if pair.tried.middle.passes else "misses",
            score_text(pair.tried.middle.margin),
            percent(pair.tried.chance),
        ]
        for pair in two
    ]
    return grid(("changed", "asks for", "middle", "margin", "samples that meet the brief"), told)


def _chances(picks: Sequence[Pick]) -> Html:
    """Return one chart a key: chance with its interval for every value that was sampled."""
    drawn = []
    for pick in picks:
        rows = [
            Span(
                plain_value(candidate.value),
                100.0 * candidate.chance.low,
                100.0 * candidate.chance.value,
                100.0 * candidate.chance.high,
                told=percent(candidate.chance),
                chosen=pick.best is not None and candidate is pick.chosen,
            )
            for candidate in pick.candidates
            if candidate.chance is not None
        ]
        if rows:
            drawn.append(spans(rows, varied(pick), SHARE, (0.0, 100.0)))
        else:
            told = f"{varied(pick)}: no value meets the brief in its middle, none was sampled"
            drawn.append(tag("p", told))
    return tag("div", drawn, class_="figures")


def _trade(designs: Sequence[tuple[str, Sequence[Finding], bool]], unit: LengthUnit) -> Html | None:
    """Return designs by their start and their hook gap, None where the brief asks not for both."""
    found = traded(designs)
    points = [
        DesignPoint(
            user_unit("m", unit)[0] * d.gap, user_unit("m/s", unit)[0] * d.start, d.good, d.name
        )
        for d in found
    ]
    if len({(p.x, p.y) for p in points}) < 2:
        return None
    speed = user_unit("m/s", unit)[1]
    label = f"hook gap [{user_unit('m', unit)[1]}]"
    note = tag("p", "Filled: meets the whole brief in its middle.", class_="legend")
    drawn = against(points, "start speed against hook gap", label, f"start speed [{speed}]")
    edge = tag("p", front_sentence(found, unit), class_="legend")
    return tag("div", drawn, note, edge, class_="figures")


def _candidate_row(key: str, candidate: Candidate) -> list[str | float | int | None]:
    chance = candidate.chance
    told = (None,) * 5 if chance is None else (
        chance.passed, chance.count, chance.value, chance.low, chance.high
    )  # fmt: skip
    meets = int(candidate.middle.passes)
    margin = candidate.middle.margin if candidate.middle.margin > NEVER else None
    return [key, candidate.value, meets, margin, *told]


def _confirmed(confirmed: Sequence[Confirmed], unit: LengthUnit) -> list[Html]:
    sections = []
    for place, item in enumerate(confirmed):
        name = ", ".join(short_change(text) for text in item.values) or "the case as it stands"
        table = brief_table(item.findings, unit)
        inside = tag("p", item.reason or "no answer") if table is None else table
        sections.append(page_section(f"bands-{place}", f"With bands: {name}", inside))
    return sections


def short_change(text: str) -> str:
    """Return ``PATH=VALUE`` as a reader knows it; a bare value as it is."""
    path, equals, value = text.partition("=")
    return f"{short(path).replace('_', ' ')} {plain_value(value)}" if equals else text


def tolerance_sheet(
    trial: Trial,
    samples: Sequence[Sample],
    found: Sequence[Effect],
    corner: Corner,
    agreed: Agreement | None,
    mapped: ChanceMap | None = None,
) -> Sheet:
    """Return what a tolerance run found; parameters as those of its text."""
    unit = trial.case.length_unit
    whole = probability([s.passes for s in samples])
    clauses = by_clause(trial, samples)
    rows = [_chance_span("the whole brief", whole)]
    rows += [_chance_span(clause_name(clause.name, unit), share) for clause, share in clauses]
    shown = [e for e in found[:MOST_EFFECTS] if e.share > 0.0]
    signed = [(f"{e.input.name}, {100.0 * e.share:.0f} %", _signed(e)) for e in shown]
    steps = [_chance_span(f"{p.count} samples", p) for p in convergence(samples)]
    lead = f"The brief is met by {percent(whole)} of {whole.count} samples."
    costs = tornado(signed, "What costs most of the margin", ("more hurts", "more helps"))
    drawn = [
        spans(rows, "Share of samples that meet", SHARE, (0.0, 100.0)),
        costs,
        spans(steps, "As samples come in", SHARE, (0.0, 100.0)),
    ]
    table = grid(
        ("input", "of", "share of the margin's scatter", "rank correlation"),
        [[e.input.name, e.input.group, f"{100 * e.share:.0f} %", f"{e.rank:+.2f}"] for e in found],
    )
    words = [tag("p", lead, class_="lead")]
    if agreed is not None:
        words.append(tag("p", f"Screening without a march; {agreed.same} of {agreed.count} samples "
                              "judged alike by the march."))  # fmt: skip
    failed = [s for s in samples if s.reason]
    if failed:
        told = f"{len(failed)} samples could not be run and count as missed: {failed[0].reason}"
        words.append(tag("p", told, class_="warning"))
    brief = brief_table(corner.sample.findings, unit)
    worst = [tag("p", corner_sentence(corner, unit)), *([brief] if brief is not None else [])]
    sections = [
        page_section("answer", "Answer", words),
        page_section("scatter", "How often, and why not", tag("div", drawn, class_="figures")),
        *(
            [page_section("map", "Over two keys", *_chance_map(mapped))]
            if mapped is not None
            else []
        ),
        page_section("corner", "Worst corner", worst),
        page_section("inputs", "What scatters", table),
    ]
    head = ("what", "name", "passed", "of", "value", "low", "high", "rank_correlation")
    out = [["share that meets", *_share_row("the whole brief", whole), None]]
    out += [["share that meets", *_share_row(c.name, p), None] for c, p in clauses]
    out += [["costs", e.input.name, None, None, e.share, None, None, e.rank] for e in found]
    out += _map_rows(mapped) if mapped is not None else []
    word = f"{100.0 * whole.value:.0f} % meet the brief"
    return Sheet(word, chance_class(whole), trial.case.title, _SCATTER, sections, head, out)


def _chance_map(found: ChanceMap) -> list[Html]:
    """Return the shares of a map as cells, the darker the more often the brief is met."""
    shades = [[None if c is None else c.value for c in row] for row in found.chance]
    words = [[share_text(c) for c in row] for row in found.chance]
    across, up = (short(path).replace("_", " ") for path in found.paths)
    names = (map_title(found), across, up)
    drawn = map_cells(found.across, found.up, shades, names, words)
    note = "Every cell is run forward with the same sample of all that scatters; intervals in CSV."
    return [drawn, tag("p", note, class_="legend"), *(tag("p", "-: ", r) for r in found.refused)]


def _map_rows(found: ChanceMap) -> list[list[str | float | int | None]]:
    return [
        ["map", f"{found.paths[0]}={x}, {found.paths[1]}={y}", *_share_row("", c)[1:], None]
        for y, row in zip(found.up, found.chance, strict=True)
        for x, c in zip(found.across, row, strict=True)
        if c is not None
    ]


_SCATTER = "Everything that scatters from pour to pour, day to day and in the model, at once."


def chance_class(found: Probability) -> str:
    """Return the colour of a chance, by its interval."""
    if found.low >= LIKELY:
        return "go"
    return "no-go" if found.high < UNLIKELY else "marginal"


def _share_row(name: str, share: Probability) -> list[str | float | int]:
    return [name, share.passed, share.count, share.value, share.low, share.high]


def _chance_span(name: str, share: Probability) -> Span:
    numbers = (100.0 * share.low, 100.0 * share.value, 100.0 * share.high)
    return Span(name, *numbers, told=percent(share))


def _signed(effect: Effect) -> float:
    return effect.share if effect.rank > 0.0 else -effect.share


def sweep_sheet(
    sweep: Sweep, table: SweepTable, ranked: Ranking, confirmed: Sequence[Confirmed]
) -> Sheet:
    """Return what a sweep found; parameters as those of its text."""
    unit = sweep.case.length_unit
    designs = list(ranked.designs(MOST_ROWS)) if sweep.case.brief else []
    sections = []
    if designs:
        best = designs[0]
        does = "meets" if best.meets else "comes nearest to"
        name = ", ".join(map(short_change, _pairs(table, best.values)))
        lead = f"{name} {does} the brief; {ranked.good} of {len(ranked)} designs meet the whole."
        notes = filter(None, (look_words(ranked), *unanswered(designs)))
        words = [tag("p", lead, class_="lead"), *(tag("p", line) for line in notes)]
        sections.append(page_section("answer", "Answer", words))
    drawn = _map(sweep, table, ranked)
    if drawn is not None:
        sections.append(page_section("map", "Where the brief is met", drawn))
    everyone = [(", ".join(d.values), d.findings, d.meets) for d in designs]
    traded = _trade(everyone, unit)
    if traded is not None:
        sections.append(page_section("trade", "What costs what", traded))
    sections += _confirmed([_spelled(table, item) for item in confirmed], unit)
    if designs:
        head = [*map(short, table.paths), "margin", *(c.name for c in sweep.case.brief)]
        rows = [[*d.values, score_text(d.score), *(_found(f, unit) for f in d.findings)]
                for d in designs]  # fmt: skip
        sections.append(page_section("ranked", "Ranked", grid(head, rows)))
    failed = [i for i in range(table.count) if table.reason[i]]
    if failed:
        told = [f"{', '.join(table.values[i])}: {table.reason[i]}" for i in failed[:MOST_ROWS]]
        lines = tag("ul", (tag("li", line) for line in told))
        sections.append(page_section("failed", "Without an answer", lines))
    word = f"{ranked.good} of {table.count} meet" if sweep.case.brief else f"{table.count} designs"
    class_ = ("go" if ranked.good else "no-go") if sweep.case.brief else "open"
    standing = "All numbers stand in sweep.csv and sweep.h5."
    return Sheet(word, class_, table.title, standing, sections, (), ())


def _pairs(table: SweepTable, values: Sequence[str]) -> list[str]:
    return [f"{path}={value}" for path, value in zip(table.paths, values, strict=True)]


def _spelled(table: SweepTable, item: Confirmed) -> Confirmed:
    if not item.values:
        return item
    named = tuple(_pairs(table, item.values))
    return Confirmed(item.index, named, item.records, item.findings, item.reason)


def _found(finding: Finding, unit: LengthUnit) -> str:
    if finding.record is None:
        return "-"
    margin = margin_text(finding, unit)
    return f"{show(finding.record, unit)}{f' ({margin})' if margin else ''}"


def _map(sweep: Sweep, table: SweepTable, ranked: Ranking) -> Html | None:
    """Return the brief's margin over two varied keys, None where there are not two."""
    if len(table.paths) != 2 or sweep.plan.sample is not None or not sweep.case.brief:
        return None
    across, up = (list(dict.fromkeys(row[i] for row in table.values)) for i in (0, 1))
    known = {d.values: d for d in ranked.designs()}
    shades, words = [], []
    for y in up:
        line = [known.get((x, y)) for x in across]
        shades.append([_share_of(d) for d in line])
        words.append(["-" if d is None else score_text(d.score) for d in line])
    what = "Margin of the brief in half bands of the case as it stands; above zero meets it"
    names = [short(path).replace("_", " ") for path in table.paths]
    return map_cells(across, up, shades, (what, *names), words)  # type: ignore[arg-type]


def _share_of(design: Ranked | None) -> float | None:
    """Return how good a cell is, 0..1: from a half up where the brief is met."""
    if design is None or design.score <= NEVER:
        return None
    if design.meets:
        return 0.75 + 0.25 * min(design.score, 1.0)
    return min(0.6, max(0.0, 0.5 + 0.25 * design.score))
