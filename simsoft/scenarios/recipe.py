"""The recipe for a wanted fall: salt, microballoons, a weight or the hook, one at a time.

Each lever is turned until the lure sinks at the wanted rate: first on the steady descent of the
lure frozen in its shape, with SciPy's bracketing root finder, then put right on the march of the
free fall, which has the last word. Where no setting does, the nearest miss is told.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

import numpy as np
from scipy.optimize import brentq, minimize_scalar

from simsoft.bodies.free.equilibrium import Trim, trims
from simsoft.case.model import BodyInput, Case, RigInput, Scenario, Taper, WeightInput
from simsoft.core.errors import SolveError
from simsoft.core.quantities import nose
from simsoft.lure.components import hook_piece
from simsoft.lure.records import moved_ends
from simsoft.results.record import Record, missing
from simsoft.scenarios.free.fall import Fall
from simsoft.scenarios.present import Present, fall_of, free_of, present, weight_of
from simsoft.scenarios.retrieve.marcher import Each

MOST_SALT = 0.40  # practical limit of a pour (common practice, no source)
MOST_MICROBALLOONS = 0.05  # the same
LIGHTEST, HEAVIEST = 1.0e-4, 0.030  # [kg] of a weight
LIGHTEST_HOOK, HEAVIEST_HOOK = 1.0e-4, 4.0e-3  # [kg]
NOTHING = Taper((0.0, 1.0), (0.0, 0.0))
NAIL = "added nail"
WATER = 1000.0  # [kg/m^3], which no mass depends on
SHARE = 0.02  # relative, of the wanted rate (at least SLOWEST) that counts as met
SLOWEST = 0.02  # [m/s]
LEVEL = math.radians(10.0)  # of the wanted attitude that counts as met
PASSES = 4  # marches that put a setting right
BANDED = ("density", "cross_drag", "thickness")  # inputs that move a recipe most
BASIS = "steady descent solved for the setting, put right on the march of the fall, screening"
STENCIL = 0.03  # of a lever's range, for the slope of the rate with its setting
SETTINGS = 6  # tried over the range of a lever
PLACES, SAMPLES = (0.05, 0.95), 5  # of the length, where a weight may be set and is tried


@dataclass(frozen=True)
class Lever:
    """One thing a maker can change.

    Attributes
    ----------
    name : str
    unit : str
    low, high : float, settings tried
    now : float, setting of the case
    turned : function of a setting and a place [m] or None, the case with it
    places : bool, the place can be chosen as well
    lacking : str, why the lever cannot be turned; empty where it can
    """

    name: str
    unit: str
    low: float
    high: float
    now: float
    turned: Callable[[float, float | None], Case]
    places: bool = False
    lacking: str = ""


@dataclass(frozen=True)
class BestSetting:
    """What a lever does at best: its setting, the place of the weight, and the fall it gives."""

    setting: float
    place: float | None
    fall: Fall
    met: bool
    reason: str = ""


def recipes(
    case: Case,
    scenario: Scenario,
    *,
    bands: bool = True,
    now: Present | None = None,
    each: Each = map,
) -> list[Record]:
    """Return the recipes for the wanted fall of a scenario, one for each lever.

    Parameters
    ----------
    case : Case, with a body
    scenario : Scenario of kind 'sink' with ``wanted_sink_rate``
    bands : bool, False leaves low and high out
    now : Present or None, how the lure falls; None marches it
    each : ``map``, or that of a pool, for one lever beside the other

    Returns
    -------
    list of Record
        ``recipe`` (the setting, or why there is none), ``recipe_sink_rate`` and
        ``recipe_attitude`` (of the march with it), ``recipe_position`` where a place is chosen;
        all with the lever in ``at``.
    """
    every = levers(case)
    if now is None and any(not lever.lacking for lever in every):
        now = present(case, scenario)

    def told(lever: Lever) -> list[Record]:
        return list(_recipe(scenario, lever, now, bands))

    return [record for records in each(told, every) for record in records]


def levers(case: Case) -> tuple[Lever, ...]:
    """Return everything a maker can change about a case."""
    body, rig = case.body, case.rig or RigInput()
    stated, nail = "", ""
    if body is None:
        stated, nail = "there is no body to pour", "" if rig.weights else "there is no weight"
    elif body.density is not None:
        stated = (
            "the body's density is stated; state the plain compound's in [material] and the fillers"
        )
    hook = rig.hook
    poured = BodyInput("worm", 0.0, NOTHING, NOTHING) if body is None else body
    return (
        Lever("salt", "", 0.0, MOST_SALT, poured.salt_fraction,
              lambda x, _: replace(case, body=replace(poured, salt_fraction=x)), lacking=stated),
        Lever("microballoons", "", 0.0, MOST_MICROBALLOONS, poured.microballoon_fraction,
              lambda x, _: replace(case, body=replace(poured, microballoon_fraction=x)),
              lacking=stated),
        Lever("weight", "kg", LIGHTEST, HEAVIEST, rig.weights[0].mass if rig.weights else 0.0,
              lambda x, place: _weighted(case, poured, rig, x, place),
              places=body is not None, lacking=nail),
        Lever("hook", "kg", LIGHTEST_HOOK, HEAVIEST_HOOK, _hook_mass(rig),
              lambda x, _: replace(case, rig=replace(rig, hook=replace(hook, mass=x)))
              if hook else case,
              lacking="" if hook else "there is no hook to change"),
    )  # fmt: skip


def _weighted(case: Case, body: BodyInput, rig: RigInput, mass: float, place: float | None) -> Case:
    """Return the case with its first weight changed, or a nail pushed into its body."""
    if rig.weights:
        first = rig.weights[0]
    else:
        first = WeightInput(NAIL, "nail", "tungsten", mass, (0.5 * body.length, 0.0, 0.0))
    x, y, z = first.position
    moved = replace(first, mass=mass, position=(x if place is None else place, y, z))
    return replace(case, rig=replace(rig, weights=(moved, *rig.weights[1:])))


def _hook_mass(rig: RigInput) -> float:
    """Return the mass [kg] of the hook as it is, stated or weighed as steel wire."""
    return 0.0 if rig.hook is None else float(hook_piece(rig.hook, WATER).solid[3, 3])


def _recipe(scenario: Scenario, lever: Lever, now: Present | None, bands: bool) -> Iterator[Record]:
    at: dict[str, float | int | str] = {
        "lever": lever.name,
        "wanted": scenario.wanted_sink_rate or 0.0,
        "now": lever.now,
    }
    name = scenario.name
    if lever.lacking or now is None:
        yield missing(name, "", "recipe", lever.unit, BASIS, lever.lacking, **at)
        return
    solver = Solver(scenario, now)
    found = solver.best(lever)
    if not found.met:
        yield missing(name, "", "recipe", lever.unit, BASIS, found.reason, **at)
    else:
        low = high = None
        basis = BASIS
        if bands:
            low, high = solver.band(lever, found)
            basis += f"; band: {', '.join(BANDED)} moved one at a time"
        yield Record(name, "", "recipe", found.setting, low, high, lever.unit, basis, dict(at))
        if found.place is not None:
            yield Record(
                name, "", "recipe_position", found.place, None, None, "m",
                f"behind the nose; {BASIS}", dict(at),
            )  # fmt: skip
    done = at | {"setting": found.setting}
    rate, tilt = found.fall.sink_rate, math.degrees(found.fall.final_attitude)
    yield Record(name, "", "recipe_sink_rate", rate, None, None, "m/s", "march of the fall", done)
    yield Record(name, "", "recipe_attitude", tilt, None, None, "deg", "march of the fall", done)


class Solver:
    """Falls and steady descents of a case with a lever turned."""

    def __init__(self, scenario: Scenario, now: Present) -> None:
        self.scenario, self.now = scenario, now
        self.wanted = 0.0 if scenario.wanted_sink_rate is None else scenario.wanted_sink_rate
        self.attitude = scenario.wanted_attitude
        self.shape, self.plates = now.fall.shape, now.fall.plates
        self.start = (now.fall.final_attitude, 0.05)

    def fall_of(self, case: Case) -> Fall:
        """Return the march of the fall."""
        return fall_of(*free_of(case), self.scenario)

    def steady(self, case: Case, moved: tuple[str, str] | None = None) -> Trim | None:
        """Return the stable steady descent nearest to the last one, else the nearest one."""
        lure = free_of(case, moved)[1]
        found = [t for t in trims(lure, self.shape, self.plates, [self.start]) if t.stable]
        found = found or list(trims(lure, self.shape, self.plates))
        if not found:
            return None
        nearest = min(found, key=lambda t: (not t.stable, abs(t.attitude - self.start[0])))
        self.start = (nearest.attitude, nearest.roll)
        return nearest

    def settings_for(
        self,
        lever: Lever,
        rate: float,
        place: float | None,
        moved: tuple[str, str] | None = None,
    ) -> list[float]:
        """Return the settings whose steady descent has a rate [m/s], the best attitude first.

        The rate need not rise all the way with a filler: a lighter bait may tip over and slip
        down faster. Every change of sign between ``SETTINGS`` tried settings is followed.
        """

        def excess(setting: float) -> float:
            return self._trim(lever, setting, place, moved).sink_rate - rate

        tried = np.linspace(lever.low, lever.high, SETTINGS)
        trims_there = [self._trim(lever, float(x), place, moved) for x in tried]
        found: list[tuple[float, float]] = []
        for k in range(SETTINGS - 1):
            ends = [trims_there[k + i].sink_rate - rate for i in (0, 1)]
            if ends[0] * ends[1] > 0.0:
                continue
            setting = float(brentq(excess, tried[k], tried[k + 1], rtol=1e-3))
            if self.attitude is None:
                off = abs(setting - lever.now)
            else:
                off = abs(self._trim(lever, setting, place, moved).attitude - self.attitude)
            found.append((off, setting))
        return [setting for _, setting in sorted(found)]

    def _trim(
        self, lever: Lever, setting: float, place: float | None, moved: tuple[str, str] | None
    ) -> Trim:
        trim = self.steady(lever.turned(setting, place), moved)
        if trim is None:
            raise SolveError(f"no steady descent with {setting_words(lever, setting)}")
        return trim

    def place_for(self, lever: Lever, setting: float) -> float | None:
        """Return the place [m] behind the nose at which a weight gives the wanted attitude."""
        length = _length(lever.turned(setting, None))
        places = np.linspace(*PLACES, SAMPLES) * length

        def excess(place: float) -> float:
            trim = self.steady(lever.turned(setting, float(place)))
            if trim is None:
                raise SolveError("no steady descent with the weight there")
            return trim.attitude - (self.attitude or 0.0)

        found = [excess(float(place)) for place in places]
        for k in range(SAMPLES - 1):
            if found[k] * found[k + 1] <= 0.0:
                return float(brentq(excess, places[k], places[k + 1], xtol=1e-4))
        return float(places[int(np.argmin(np.abs(found)))])

    def best(self, lever: Lever) -> BestSetting:
        """Return the setting that meets the wanted fall, or the one that misses it least."""
        target, place = self.wanted, None
        found = None
        for _ in range(PASSES):
            settings = self.settings_for(lever, target, place)
            if not settings:
                break
            if lever.places and self.attitude is not None:
                place = self.place_for(lever, settings[0])
                settings = self.settings_for(lever, target, place) or settings
            done = self.fall_of(lever.turned(settings[0], place))
            found = BestSetting(settings[0], place, done, True)
            if abs(done.sink_rate - self.wanted) <= self.allowed:
                return self._attitude_met(lever, found)
            target += self.wanted - done.sink_rate
        return self._nearest(lever, found)

    @property
    def allowed(self) -> float:
        """Return by how much [m/s] the wanted rate may be missed."""
        return SHARE * max(abs(self.wanted), SLOWEST)

    def _attitude_met(self, lever: Lever, found: BestSetting) -> BestSetting:
        """Return a recipe for the rate, marked as a miss where the attitude is wrong."""
        tilt = found.fall.final_attitude
        if self.attitude is None or abs(tilt - self.attitude) <= LEVEL:
            return found
        reason = (
            f"{setting_words(lever, found.setting)} sinks at {found.fall.sink_rate:.3g} m/s, but "
            f"{nose(math.degrees(tilt))}, not {nose(math.degrees(self.attitude))}"
        )
        return replace(found, met=False, reason=reason)

    def _nearest(self, lever: Lever, found: BestSetting | None) -> BestSetting:
        """Return the miss nearest to the wanted rate: the last try, or the best of the lever."""

        def miss(setting: float) -> float:
            return abs(self._trim(lever, setting, None, None).sink_rate - self.wanted)

        tried = np.linspace(lever.low, lever.high, SETTINGS)
        k = int(np.argmin([miss(float(x)) for x in tried]))
        ends = (tried[max(k - 1, 0)], tried[min(k + 1, SETTINGS - 1)])
        refined = minimize_scalar(miss, bounds=ends, method="bounded", options={"maxiter": 8})
        setting = float(tried[k]) if miss(float(tried[k])) <= refined.fun else float(refined.x)
        tries = [BestSetting(setting, None, self.fall_of(lever.turned(setting, None)), False)]
        if found is not None:
            tries.append(found)
        nearest = min(tries, key=lambda f: abs(f.fall.sink_rate - self.wanted))
        turned = free_of(lever.turned(nearest.setting, nearest.place))[1]
        lighter = weight_of(turned) < self.now.weight
        reason = (
            f"nothing from {setting_words(lever, lever.low)} to "
            f"{setting_words(lever, lever.high)} sinks at {self.wanted:.3g} m/s; nearest is "
            f"{nearest.fall.sink_rate:.3g} m/s with {setting_words(lever, nearest.setting)}, "
            f"{nose(math.degrees(nearest.fall.final_attitude))}"
            f"{why_faster(self.now.fall, nearest.fall) if lighter else ''}"
        )
        return replace(nearest, met=False, reason=reason)

    def band(self, lever: Lever, found: BestSetting) -> tuple[float, float]:
        """Return low and high settings: what moved inputs do to the rate, over its slope."""
        setting, place = found.setting, found.place
        width = STENCIL * (lever.high - lever.low)
        below, above = max(setting - width, lever.low), min(setting + width, lever.high)
        rates = [self._trim(lever, x, place, None).sink_rate for x in (below, setting, above)]
        slope = (rates[2] - rates[0]) / (above - below)
        if slope == 0.0:
            return lever.low, lever.high
        ends = []
        for name in BANDED:
            for end in ("low", "high"):
                moved = self._trim(lever, setting, place, (name, end)).sink_rate
                ends.append(np.asarray(setting - (moved - rates[1]) / slope))
        low, high = moved_ends(np.asarray(setting), ends)
        return max(float(low), lever.low), min(float(high), lever.high)


def why_faster(now: Fall, lighter: Fall) -> str:
    """Return why a lighter lure falls faster than now, '' where it does not or does not tip."""
    tilts = [math.degrees(fall.final_attitude) for fall in (now, lighter)]
    if lighter.sink_rate <= now.sink_rate or abs(tilts[1]) <= abs(tilts[0]):
        return ""
    return (
        f": lighter, yet faster than now ({now.sink_rate:.3g} m/s, {nose(tilts[0])}), since it "
        "tips and less of its side stands against the water"
    )


def setting_words(lever: Lever, setting: float) -> str:
    """Return a setting of a lever in words."""
    if lever.unit == "kg":
        return f"a {lever.name} of {1e3 * setting:.3g} g"
    return f"{100.0 * setting:.3g} % of {lever.name}"


def _length(case: Case) -> float:
    return case.body.length if case.body is not None else 0.0
