"""The page of a run: one file that needs nothing else, not even a network."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from simsoft import __version__
from simsoft.core.files import write_text
from simsoft.design.asked import asked_settings
from simsoft.design.brief import Finding, judge
from simsoft.design.screened import moved_to, screened
from simsoft.report.html.answers import (
    CLASSES,
    answers,
    brief_table,
    doubt_bars,
    verdict_line,
    verdict_word,
)
from simsoft.report.html.charts import charts, legend
from simsoft.report.html.document import asset, document, footer, page_section, stacked
from simsoft.report.html.hook import hook_figures
from simsoft.report.html.markup import Html, data, joined, tag, verbatim
from simsoft.report.html.moves import cast_tables, motion_figures
from simsoft.report.html.scene import busiest, has_picture, scene
from simsoft.report.html.sliders import given_start, slider_data, slider_form
from simsoft.report.html.still import still
from simsoft.report.html.tables import number_table, response_table
from simsoft.report.text.change import HEAD, HOLDS, change_words
from simsoft.report.text.seen import seen_sentences
from simsoft.report.text.sentences import Group, answer_groups, name_of
from simsoft.report.units import show
from simsoft.results.hdf5_reader import Stored
from simsoft.results.result import RunResult

SCRIPTS = ("space.js", "viewer.js", "sliders.js")
FILE = "report.html"


def write_page(stored: Stored, directory: str | Path) -> Path:
    """Write the page of a run to its directory, whole or not at all.

    Parameters
    ----------
    stored : Stored, as read from the run's results file
    directory : path of an existing directory

    Raises
    ------
    OutputError
        If it cannot be written.
    """
    return write_text(Path(directory) / FILE, run_page(stored))


def run_page(stored: Stored) -> str:
    """Return the page of a run as HTML; the same run gives the same text."""
    result = stored.result
    findings = judge(result.case, result.records, banded=True)
    shown = answer_groups(result)
    sections = [
        *_words(stored, findings, shown),
        *_picture(stored),
        *_charts(stored, findings, shown),
        *_moves(stored),
        *_sliders(stored, findings, shown),
        *_behind(stored),
    ]
    verdict = verdict_word(findings, result.records)
    badge = tag("span", verdict, class_=f"badge {CLASSES.get(verdict, 'open')}")
    return document(
        f"{verdict}: {result.case.title}",
        joined(badge, " ", result.case.title),
        verdict_line(findings, result.case.length_unit),
        sections,
        footer(stored),
        "".join(asset(name) for name in SCRIPTS),
    )


def _words(stored: Stored, findings: list[Finding], shown: list[Group]) -> list[Html]:
    result = stored.result
    sections = [page_section("answer", "Answer", answers(result, shown))]
    table = brief_table(findings, result.case.length_unit)
    if table is not None:
        sections.append(page_section("brief", "Brief", table))
    told, narrowed = seen_sentences(result)
    if told:
        looks = tag("ul", (tag("li", look.removeprefix("seen: ")) for look in told))
        after = [tag("p", narrowed)] if narrowed else []
        sections.append(page_section("seen", "Seen of the bait in hand", looks, *after))
    if result.changes:
        sections.append(page_section("changed", "What the change does", *_changed(result)))
    return sections


def _changed(result: RunResult) -> Iterator[Html]:
    """Yield what was set, and what that changed of what a maker asks for."""
    unit = result.case.length_unit
    yield tag("p", "Set: ", "; ".join(asked_settings(result.case)), ".")
    rows = []
    for change in result.changes:
        name, told, _ = change_words(change, unit)
        rows.append([name, show(change.before, unit), show(change.after, unit), told])
    yield stacked(("number", "as it stands", "as set", "change"), rows)
    why = "most of the doubt is common to both and cancels"
    yield tag("p", f"{HEAD}: {why}; {HOLDS}.", class_="legend")


def _picture(stored: Stored) -> list[Html]:
    drawn = scene(stored.result)
    if not has_picture(drawn):
        return []
    drawn["first"] = busiest(drawn["sets"])
    stage = tag(
        "div",
        tag("figure", still(drawn), id="still"),
        tag("div", id="viewer", hidden=True),
        class_="stage",
    )
    return [page_section("lure", "The lure", stage, data("scene", drawn))]


def _charts(stored: Stored, findings: list[Finding], shown: list[Group]) -> list[Html]:
    unit = stored.result.case.length_unit
    sections = []
    for number, group in enumerate(shown):
        name = name_of(group.names)
        drawn = charts(group.records, findings, name, unit)
        table = response_table(group.records, unit)
        if drawn is None and table is None:
            continue
        pieces = [drawn, legend()] if drawn is not None else []
        pieces += [table] if table is not None else []
        title = f"Against speed: {name}, {group.scenario}"
        sections.append(page_section(f"speed-{number}", title, *pieces))
    told = doubt_bars(shown, unit)
    if told is not None:
        sections.append(page_section("doubt", "What the doubt comes from", told))
    return sections


def _moves(stored: Stored) -> list[Html]:
    result = stored.result
    hooks = hook_figures(result, scene(result))
    drawn = tag("div", hooks, class_="figures")
    sections = [page_section("hook", "Hook clearance", drawn)] if hooks else []
    moved = motion_figures(result)
    if moved:
        drawn = tag("div", moved, class_="figures")
        sections.append(page_section("moves", "The whole lure on its way", drawn))
    casts = cast_tables(result)
    if casts:
        sections.append(page_section("cast", "Cast", casts))
    return sections


def _sliders(stored: Stored, findings: list[Finding], shown: list[Group]) -> list[Html]:
    result = stored.result
    if stored.versions.get("simsoft") != __version__:
        return []  # what another version says by screening is not what this run says
    found = screened(result.case)
    if found is None:
        return []
    looked = given_start(result, found.scenario, found.part)
    if looked is not None:
        found = moved_to(found, looked)
    lead = next(
        (g.lead for g in shown if (g.scenario, found.part) == (found.scenario, g.names[0])), ""
    )
    form = tag(
        "div", slider_form(found, result, lead, looked is not None), id="sliders-live", hidden=True
    )
    without = tag("p", "The sliders need a script to run.", id="sliders-off")
    block = data("designs", slider_data(found, result, findings))
    return [page_section("sliders", "What if", without, form, block)]


def _behind(stored: Stored) -> list[Html]:
    numbers = tag("details", tag("summary", "All numbers, SI units"), number_table(stored.result))
    text_of_case = tag("pre", verbatim(stored.result.case.text), tabindex=0)
    case = tag("details", tag("summary", "The case"), text_of_case)
    return [page_section("behind", "Behind it", [numbers, case])]
