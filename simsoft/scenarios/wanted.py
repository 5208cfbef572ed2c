"""What has to change for a wanted fall: recipes and weigh window, side by side."""

from __future__ import annotations

from concurrent.futures import Executor

from simsoft.case.model import Case, Scenario
from simsoft.results.record import Record
from simsoft.scenarios.present import present
from simsoft.scenarios.recipe import levers, recipes
from simsoft.scenarios.weigh import weigh_window, wish_of


def wanted_of(case: Case, scenario: Scenario, pool: Executor | None) -> list[Record]:
    """Return the recipes and the weigh window of a scenario of kind 'sink'.

    ``pool`` works on them, and none of its tasks waits for another; without one there are the
    recipes alone, one after the other and without bands.
    """
    asked = scenario.wanted_sink_rate is not None
    if pool is None:
        return recipes(case, scenario, bands=False) if asked else []
    turned = asked and any(not lever.lacking for lever in levers(case))
    weighed = wish_of(case, scenario) is not None
    now = present(case, scenario) if turned or weighed else None
    window = pool.submit(weigh_window, case, scenario, now) if weighed else None
    found = recipes(case, scenario, now=now, each=pool.map) if asked else []
    return found if window is None else found + window.result()
