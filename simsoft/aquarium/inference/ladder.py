"""How the band of the natural frequency shrinks from rung to rung of the calibration ladder."""

from __future__ import annotations

import dataclasses
import math

from simsoft.case.measured import Profile, ProfileValue
from simsoft.case.model import Case
from simsoft.case.scenario import Scenario
from simsoft.core.errors import SolveError
from simsoft.engine.run import run
from simsoft.results.record import select

STILL = Scenario(name="still", kind="hold", modes=1)


def with_profile_values(case: Case, values: dict[str, ProfileValue], title: str) -> Case:
    """Return the case with values added to its profile, or in a new one."""
    if not values:
        return case
    held = {} if case.profile is None else case.profile.values
    return dataclasses.replace(case, profile=Profile(title, {**held, **values}))


def natural_spread(case: Case) -> float | None:
    """Return the standard deviation of ln f_n in still water, None where there is none.

    The first strip's first wet mode with its band, every input moved alone.
    """
    if not case.parts:
        return None
    alone = dataclasses.replace(case, scenarios=(STILL,), parts=case.parts[:1])
    try:
        found = select(run(alone).records, "natural_frequency", mode=1, medium="water")
    except SolveError:
        return None
    if not found or not isinstance(found[0].low, float) or not isinstance(found[0].high, float):
        return None
    if found[0].low <= 0.0:
        return None
    return 0.5 * math.log(found[0].high / found[0].low)
