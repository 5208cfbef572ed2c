"""What the explore page asks: a setting solved, a setting kept as a case of its own."""

from __future__ import annotations

import secrets
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from simsoft.case.files import read_text
from simsoft.case.read import from_tables
from simsoft.case.rewrite import descendant
from simsoft.cli.explore_server import Service
from simsoft.core.errors import InputError
from simsoft.core.files import write_text
from simsoft.design.explore import How, knobs, predict_setting, settings
from simsoft.design.sweep.run import read_base
from simsoft.report.html.explore import answer_data, explore_page

MOST_KEPT = 1000


def service_of(case: str, overrides: Sequence[str]) -> Service:
    """Return the service of a case; the first answer is worked out before, so that it is warm.

    Raises
    ------
    InputError
        The case is wrong, or has nothing to turn.
    """
    base = read_base(case, overrides)
    known = knobs(base)
    if not known:
        raise InputError(f"{case}: nothing to turn: no size, durometer or water with one value")
    predict_setting(base, [], "screen")
    token = secrets.token_urlsafe(24)

    def solve(how: How, values: dict[str, Any]) -> dict[str, Any]:
        return answer_data(predict_setting(base, settings(known, values), how))

    def keep(values: dict[str, Any]) -> Path:
        changes = [*overrides, *settings(known, values)]
        text = descendant(read_text(case), changes, case)
        return write_text(_free_name(Path(case)), text)

    title = from_tables(base.tables, base.text, base.name).title
    return Service(explore_page(title, known, token), token, solve, keep)  # type: ignore[arg-type]


def _free_name(case: Path) -> Path:
    """Return a name beside the case that no file has."""
    for number in range(2, MOST_KEPT):
        path = case.with_name(f"{case.stem}_{number}{case.suffix}")
        if not path.exists():
            return path
    raise InputError(f"{case}: {MOST_KEPT} cases are kept beside it already; clear some away")
