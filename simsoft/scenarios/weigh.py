"""The weigh window: what the poured bait may weigh for its fall to stay inside the wish.

A pour that comes out heavier or lighter fills the same mould: its density differs, its shape does
not. So the bare bait's mass tells its fall. The steady descent is solved for the mass at which the
lure sinks at either end of the wish, put right once on the march of the fall.
"""

from __future__ import annotations

import itertools
import math

import numpy as np
from scipy.optimize import brentq

from simsoft.bodies.free.equilibrium import trims
from simsoft.case.model import Case, Scenario
from simsoft.core.errors import SolveError
from simsoft.lure.assembly import Whole, lure_components
from simsoft.lure.components import Component
from simsoft.lure.free_lure import BASE, Values, build_free, free_values, moved_inputs
from simsoft.lure.records import moved_ends
from simsoft.results.record import Record, missing
from simsoft.scenarios.present import ELEMENTS, Present, fall_of, free_of, present

RANGE = (0.85, 1.3)  # of the mass as drawn, tried
TRIED = 7  # masses over that range
BANDED = ("cross_drag", "thickness")  # inputs that a weighed bait leaves open and that move it most
NAMES = ("weigh_at_least", "weigh_at_most")
BASIS = "steady descent solved for the mass, put right on the march of the fall, screening"


def weigh_window(case: Case, scenario: Scenario, now: Present | None = None) -> list[Record]:
    """Return the masses of the bare bait at which a lure sinks at the ends of its brief.

    Parameters
    ----------
    case : Case, with a body
    scenario : Scenario of kind 'sink'
    now : Present or None, how the lure falls; None marches it

    Returns
    -------
    list of Record
        ``weigh_at_least`` and ``weigh_at_most`` [kg], each with the wish and the mass as drawn in
        ``at``; none where no clause of the brief wants a sink rate here.
    """
    wish = wish_of(case, scenario)
    if wish is None:
        return []
    window = MassWindow(case, scenario, wish, present(case, scenario) if now is None else now)
    try:
        return window.records()
    except SolveError as error:
        return [window.none("weigh_at_least", str(error))]


def wish_of(case: Case, scenario: Scenario) -> tuple[float, float] | None:
    """Return the ends [m/s] of the first clause that wants a sink rate of a body here.

    None where there is no such clause, or no body.
    """
    if case.body is None:
        return None
    for clause in case.brief:
        here = clause.scenario in (None, scenario.name) and clause.temperature is None
        if clause.quantity != "sink_rate" or not here:
            continue
        low, high = clause.at_least, clause.at_most
        if low is not None or high is not None:
            return -math.inf if low is None else low, math.inf if high is None else high
    return None


class MassWindow:
    """Steady descents and falls of a lure poured to a mass."""

    def __init__(
        self, case: Case, scenario: Scenario, wish: tuple[float, float], now: Present
    ) -> None:
        self.wish = wish
        self.now = now.fall
        self.scenario = scenario
        self.whole = free_of(case)[0]
        self.values = free_values(self.whole)
        self.drawn = poured_mass(self.whole, self.values)
        self.start = (now.fall.final_attitude, 0.05)
        self.attitude = math.nan  # [deg] in the middle of the window

    def rate(self, mass: float, values: Values) -> float:
        """Return the steady sink rate [m/s] of the bait poured to a mass [kg]."""
        lure = build_free(self.whole, _poured(self.whole, values, mass), elements=ELEMENTS)
        shape, plates = self.now.shape, self.now.plates
        found = [t for t in trims(lure, shape, plates, [self.start]) if t.stable]
        found = found or list(trims(lure, shape, plates))
        if not found:
            raise SolveError(f"no steady descent with a bait of {1e3 * mass:.3g} g")
        nearest = min(found, key=lambda t: (not t.stable, abs(t.attitude - self.start[0])))
        self.start = nearest.attitude, nearest.roll
        return nearest.sink_rate

    def marched(self, mass: float) -> float:
        """Return the sink rate [m/s] that the march of the fall gives for a mass [kg]."""
        values = _poured(self.whole, self.values, mass)
        lure = build_free(self.whole, values, elements=ELEMENTS)
        done = fall_of(self.whole, lure, self.scenario)
        self.attitude = math.degrees(done.final_attitude)
        return done.sink_rate

    def inside(self, wish: tuple[float, float]) -> list[tuple[float, float]]:
        """Return the stretches of mass [kg] whose steady rate lies inside a wish.

        The rate need not rise all the way with the mass: a lighter bait may tip over and slip
        down faster.
        """
        tried = [float(m) for m in np.linspace(*RANGE, TRIED) * self.drawn]
        rates = [self.rate(m, self.values) for m in tried]
        cuts = [tried[0], tried[-1]]
        for rate in filter(math.isfinite, wish):
            for k in range(TRIED - 1):
                if (rates[k] - rate) * (rates[k + 1] - rate) < 0.0:
                    cuts.append(self.crossing(rate, tried[k], tried[k + 1]))
        cuts.sort()
        pairs = itertools.pairwise(cuts)
        return [
            (a, b) for a, b in pairs
            if b > a and wish[0] <= self.rate(0.5 * (a + b), self.values) <= wish[1]
        ]  # fmt: skip

    def crossing(self, rate: float, low: float, high: float) -> float:
        """Return the mass [kg] between two at which the steady rate is as wanted."""
        return float(brentq(lambda m: self.rate(m, self.values) - rate, low, high, rtol=1e-4))

    def nearest(self, wish: tuple[float, float]) -> tuple[float, float] | None:
        """Return the stretch of `inside` nearest to the mass as drawn."""

        def away(pair: tuple[float, float]) -> float:
            return max(pair[0] - self.drawn, self.drawn - pair[1], 0.0)

        return min(self.inside(wish), key=away, default=None)

    def records(self) -> list[Record]:
        """Return both ends of the window with their bands, or why there is none."""
        found = self.nearest(self.wish)
        if found is not None:  # the march has the last word
            middle = 0.5 * sum(found)
            off = self.marched(middle) - self.rate(middle, self.values)
            found = self.nearest((self.wish[0] - off, self.wish[1] - off))
        if found is not None and not self.inside_march(found):
            reason = "the march of the fall leaves the wish amid what the steady descent says"
            return [self.none("weigh_at_least", reason)]
        at = self.at()
        if found is None:
            low, high = (1e3 * share * self.drawn for share in RANGE)
            return [self.none("weigh_at_least", f"no mass from {low:.3g} to {high:.3g} g does it")]
        told = []
        for name, mass, last in zip(NAMES, found, RANGE, strict=True):
            if math.isclose(mass, last * self.drawn):
                told.append(self.none(name, f"{1e3 * mass:.3g} g still does it"))
                continue
            low, high = self.band(mass)
            basis = f"{BASIS}; band: {', '.join(BANDED)} moved one at a time, and the march"
            told.append(Record(self.scenario.name, "", name, mass, low, high, "kg", basis, at))
        return told

    def inside_march(self, found: tuple[float, float]) -> bool:
        """Tell whether the march sinks inside the wish in the middle of a stretch."""
        return self.wish[0] <= self.marched(0.5 * sum(found)) <= self.wish[1]

    def at(self) -> dict[str, float | int | str]:
        """Return the conditions of the records: wish [m/s], mass as drawn [kg], attitude [deg]."""
        at: dict[str, float | int | str] = {"now": self.drawn}
        ends = {"slowest": self.wish[0], "fastest": self.wish[1], "attitude": self.attitude}
        return at | {name: end for name, end in ends.items() if math.isfinite(end)}

    def none(self, name: str, reason: str) -> Record:
        """Return why an end of the window is not told."""
        return missing(self.scenario.name, "", name, "kg", BASIS, reason, **self.at())

    def band(self, mass: float) -> tuple[float, float]:
        """Return low and high mass [kg]: what moved inputs do to the rate, over its slope."""
        step = 0.02 * mass
        middle = self.rate(mass, self.values)
        slope = (self.rate(mass + step, self.values) - self.rate(mass - step, self.values)) / (
            2.0 * step
        )
        if slope == 0.0:
            return 0.0, math.inf
        ends = []
        for name in BANDED:
            moved = [values for one, _, values in moved_inputs(self.whole) if one == name]
            for values in (moved + [self.values] * 2)[:2]:
                ends.append(np.asarray(mass - (self.rate(mass, values) - middle) / slope))
        # What the march makes of this mass, against the end of the wish it was solved for.
        off = self.marched(mass) - min(self.wish, key=lambda rate: abs(rate - middle))
        ends += [np.asarray(mass - off / slope), np.asarray(mass + off / slope)]
        low, high = moved_ends(np.asarray(mass), ends)
        return max(0.0, float(low)), float(high)


def poured_mass(whole: Whole, values: Values) -> float:
    """Return the mass [kg] of the bare bait: body and parts, no hook and no weights."""
    return sum(float(piece.solid[3, 3]) for piece in _bare(whole, values))


def _bare(whole: Whole, values: Values) -> list[Component]:
    return [piece for piece in lure_components(whole, values) if piece.ends]


def _poured(whole: Whole, values: Values, mass: float) -> Values:
    """Return input values with the densities of what is poured scaled to a mass [kg]."""
    factor = mass / poured_mass(whole, values)
    return {
        piece: {
            name: value * factor if name == "density" and piece != BASE else value
            for name, value in own.items()
        }
        for piece, own in values.items()
    }
