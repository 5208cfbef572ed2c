"""``simsoft pick``: options to changes, of one value or two, the best to text and back to CAD."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import asdict
from pathlib import Path
from typing import Any, NamedTuple

from simsoft import __version__
from simsoft.case.profile import refuse_idle
from simsoft.case.rewrite import write_values
from simsoft.cli.keep import keep_answer
from simsoft.core.errors import InputError
from simsoft.core.files import made_directory
from simsoft.design.brief import NEVER, summed
from simsoft.design.candidates import Bench, Candidate
from simsoft.design.changes import default_axes, spread
from simsoft.design.cost import cost
from simsoft.design.mould import thin_sentences, within_mould
from simsoft.design.pick import Pick, as_it_stands, pick_values, ranked, told_from
from simsoft.design.pick_two import Two, advised, two_at_once
from simsoft.design.rank import Confirmed, confirm_changes
from simsoft.design.same_action import with_same_action
from simsoft.design.sweep.axis import Axis, read_axis
from simsoft.design.sweep.run import Progress, check_units, local_runner, read_base
from simsoft.design.tolerance import Trial, given_looks, make_trial
from simsoft.report.html.design import pick_sheet
from simsoft.report.text.brief import finding_json
from simsoft.report.text.change import change_json
from simsoft.report.text.pick import pick_text


class Search(NamedTuple):
    """What a pick looks through, and how far.

    Attributes
    ----------
    vary : axes to change, none for those that every case has
    samples, seed : of everything that scatters, for each candidate
    full : bool, march every sample
    chance : float, share of samples that has to meet
    levers : int, values changed at once at most
    """

    vary: Sequence[str]
    samples: int
    seed: int
    full: bool
    chance: float
    levers: int


def pick_command(
    case: str,
    directory: Path,
    progress: Progress | None,
    *,
    search: Search,
    overrides: Sequence[str],
    same_action: bool,
    confirm: int,
    write: bool,
    workers: int | None,
    as_json: bool,
) -> tuple[str, list[str]]:
    """Return the text of a pick and the notes beside it."""
    base = read_base(case, overrides)
    asked = [spread(read_axis(text)) for text in search.vary]
    check_units(base, asked)
    made_directory(directory)
    if same_action:
        marcher = local_runner(1, "full")
        base = with_same_action(read_base(case), base, directory, marcher)
    trial = make_trial(base, full=search.full)
    axes = asked or default_axes(trial.case, base.tables)
    refuse_idle(trial.case, [axis.path for axis in axes])
    if not axes:
        raise InputError(f"{case}: nothing to vary; give --vary PATH=FROM:TO")
    axes = within_mould(base, trial.case, axes)
    if progress is not None:
        progress(_beginning(axes, trial, search.samples, confirm), 0.0)
    trial = given_looks(trial, search.samples, search.seed, directory, workers, progress)
    runner = local_runner(workers, trial.mode)
    bench = Bench(trial, search.samples, search.seed, directory, runner, progress)
    own = as_it_stands(bench)
    found = ranked(told_from(pick_values(bench, axes, search.chance), own))
    done = own.share >= search.chance or any(p.does for p in found)
    pairs = search.levers > 1 and len(axes) > 1 and not done
    two = two_at_once(bench, found, search.chance) if pairs else []
    advice = advised(found, two, search.chance)
    changes = _worth_bands(found, advice)[: max(0, confirm)]
    checked = confirm_changes(
        base, trial.case, changes, directory, local_runner(workers, "bands"), progress
    )
    notes = [f"warning: {warning}" for warning in trial.case.warnings]
    notes += [f"warning: {sentence}" for sentence in thin_sentences(trial.case)]
    notes += trial.in_hand.told if trial.in_hand is not None else ()
    notes.append(f"runs are kept in {directory}")
    if write:
        notes.append(_write_back(case, overrides, advice))
    unit, fast = trial.case.length_unit, trial.mode == "fast"
    costs = cost(trial.case.shop, 0.0)
    body = _json(trial.case.title, found, two, checked, trial.mode, own)
    text = pick_text(trial.case.title, found, checked, unit, fast, two, costs, own)
    sheet = pick_sheet(trial.case.title, found, checked, unit, two, costs, own)
    notes.append(keep_answer(directory, "pick", sheet, text, body, trial.case.text))
    return body if as_json else text, notes


def _beginning(axes: Sequence[Axis], trial: Trial, samples: int, confirm: int) -> str:
    """Return what a pick sets out to run."""
    count = sum(len(axis.values) for axis in axes)
    drawn = 1 << (samples - 1).bit_length()  # a sample is rounded up to a power of two
    runs = count * (1 + drawn) * len(trial.specs)
    return (
        f"{count} changes of {len(axes)} keys: up to {runs} runs; the best {confirm} again with "
        "bands"
    )


def _worth_bands(found: Sequence[Pick], advice: Pick | Two | None) -> list[list[str]]:
    """Return the changes to be run again with bands, the advised one first."""
    first = [_sets(advice)] if advice is not None else []
    return first + [_sets(p) for p in found if p.best and not p.idle and p is not advice]


def _sets(advice: Pick | Two) -> list[str]:
    """Return an advice as overrides."""
    if isinstance(advice, Two):
        return advice.sets
    return [f"{advice.axis.path}={advice.chosen.value}"]


def _write_back(case: str, overrides: Sequence[str], advice: Pick | Two | None) -> str:
    """Put the pick, and what it was picked with, back into the case; return the note."""
    if advice is None or (isinstance(advice, Pick) and advice.idle and not advice.does):
        return f"{case}: left as it is, no value does it"
    changes = [*overrides, *_sets(advice)]
    return f"wrote {', '.join(changes)} back to {write_values(case, changes)}"


def _tried(one: Candidate) -> dict[str, Any]:
    """Return how a design stands as plain data; no margin where a clause has no answer."""
    margin = one.middle.margin
    return {
        "meets": one.middle.passes,
        "margin_in_bands": margin if margin > NEVER else None,
        "pass_probability": None if one.chance is None else asdict(one.chance),
    }


def _json(
    title: str,
    picks: Sequence[Pick],
    two: Sequence[Two],
    checked: Sequence[Confirmed],
    mode: str,
    own: Candidate,
) -> str:
    body: dict[str, Any] = {
        "simsoft": __version__,
        "case": title,
        "mode": mode,
        "chance": picks[0].sure,
        "as_it_stands": _tried(own),
        "picks": [
            {
                "path": p.axis.path,
                "before": p.before or None,
                "value": p.chosen.value if p.best else None,
                "surest": p.best.value if p.best else None,
                "least": p.least.value if p.least else None,
                "cost": p.cost or None,
                "does": p.does,
                "idle": p.idle,
                "bound": p.axis.bound or None,
                "changes": [change_json(change) for change in p.chosen.changes],
                "keep": list(p.keep) if p.best else None,
                "nearest": p.nearest.value,
                "missed": finding_json(p.reason) if p.reason else None,
                "candidates": [{"value": c.value, **_tried(c)} for c in p.candidates],
            }
            for p in picks
        ],
        "two_at_once": [
            {
                "changes": t.sets,
                "cost": t.cost or None,
                "does": t.does(picks[0].sure),
                **_tried(t.tried),
            }
            for t in two
        ],
        "confirmed": [
            {
                "changes": list(item.values),
                "verdict": summed(item.findings),
                "brief": [finding_json(finding) for finding in item.findings],
            }
            for item in checked
        ],
    }
    return json.dumps(body, indent=2, allow_nan=False)
