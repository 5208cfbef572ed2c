"""The pour card: what goes into a pot of a given size, and how many baits come of it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from simsoft.case.model import Case
from simsoft.core.errors import InputError
from simsoft.design.cad import RUNNER_SHARE
from simsoft.lure.assembly import assemble_whole
from simsoft.lure.parts import assemble
from simsoft.lure.records import whole_records
from simsoft.properties import material

POT = (1e-5, 0.1)  # [m^3] of a pot; outside it is a slip of the pen
# All common practice, no source. Hot plastisol swells and is stirred: a pot is not filled whole.
FILLED = 0.75  # of the pot's volume, measured cold
LEFT, LEFT_ENDS = 0.05, (0.02, 0.10)  # of the mass, which stays in pot and injector
RUNNER_ENDS = (0.15, 0.35)  # of the parts' mass, where the shop states none
MOST_SOFTENER = 25.0  # [%] of the pot: more is another compound (judgement)


@dataclass(frozen=True)
class Softener:
    """How a maker's compound is brought to the durometer of the case.

    Attributes
    ----------
    base : float [Shore points], of the compound as it is bought, on the case's scale
    points : float [Shore points], that one per cent of softener by mass takes off
    """

    base: float
    points: float


@dataclass(frozen=True)
class Pour:
    """One mixture of a lure, and a full pot of it.

    Attributes
    ----------
    pieces : tuple of str, body and parts that are made of it
    density : float [kg/m^3], of the mixture without bubbles
    ingredients : tuple of (name, mass [kg]), which add up to the pot
    one : (low, value, high) [kg], what one lure takes of it
    plate : float [kg], what all cavities with runner take
    plates, baits : (low, value, high), whole plates of a pot and the baits in them
    """

    pieces: tuple[str, ...]
    density: float
    ingredients: tuple[tuple[str, float], ...]
    one: tuple[float, float, float]
    plate: float
    plates: tuple[int, int, int]
    baits: tuple[int, int, int]

    @property
    def mass(self) -> float:
        """Mass of the filled pot [kg]."""
        return math.fsum(mass for _, mass in self.ingredients)


@dataclass(frozen=True)
class Card:
    """The pour card of a case.

    Attributes
    ----------
    pot : float [m^3]
    filled : float [-], of the pot
    cavities : int
    runner_share : float [-]
    pours : tuple of Pour, the one with the body first
    """

    pot: float
    filled: float
    cavities: int
    runner_share: float
    pours: tuple[Pour, ...]


def pour_card(case: Case, pot: float, softener: Softener | None = None) -> Card:
    """Return what goes into a pot for the baits of a case.

    Parameters
    ----------
    case : Case
    pot : float [m^3]
    softener : Softener or None, where the compound as bought is taken as it is

    Raises
    ------
    InputError
        No softener brings the compound to the case's durometer.
    """
    stated = case.shop.runner_share
    runner = RUNNER_SHARE if stated is None else stated
    ends = RUNNER_ENDS if stated is None else (runner, runner)
    share = 0.0 if softener is None else softener_share(case, softener)
    made = [
        _pour(case, pieces, mixed, share, pot, (ends[0], runner, ends[1]))
        for mixed, pieces in _mixtures(case).items()
    ]
    return Card(pot, FILLED, case.shop.cavities, runner, tuple(made))


def softener_share(case: Case, softener: Softener) -> float:
    """Return the share of softener in a pot [-], by mass of all that is in it.

    Raises
    ------
    InputError
        The case has no durometer, the compound is softer than it, or so much softener is needed
        that it is another compound.
    """
    wanted, scale = case.material.hardness, case.material.hardness_scale
    if wanted is None:
        raise InputError("material.durometer: a softener is reckoned by Shore points; state one")
    percent = (softener.base - wanted) / softener.points
    if percent < 0.0:
        raise InputError(
            f"--base: {softener.base:g} {scale} is softer than the {wanted:g} {scale} of the case; "
            "no softener makes it firmer, blend in a firmer compound"
        )
    if percent > MOST_SOFTENER:
        raise InputError(
            f"--base: from {softener.base:g} to {wanted:g} {scale} takes {percent:.0f} % of "
            f"softener; allowed are {MOST_SOFTENER:g} %, take a softer compound"
        )
    return percent / 100.0


Mixture = tuple[float, float, float]  # density without bubbles [kg/m^3], shares of both fillers [-]


def _mixtures(case: Case) -> dict[Mixture, tuple[str, ...]]:
    """Return the mixtures of a case and the pieces of each, the body's first."""
    own, salted = case.material, case.material.salt_fraction
    found: dict[Mixture, tuple[str, ...]] = {}
    if case.body is not None:
        body = case.body
        rho = material.body_density(body, own, case.tolerance).value / (1.0 - body.air_fraction)
        plain = 1.0 - body.salt_fraction - body.microballoon_fraction
        salt = body.salt_fraction + plain * salted
        found[rho, salt, body.microballoon_fraction] = ("body",)
    for part in case.parts:
        rho = (
            material.material_density(own, case.tolerance).value
            if part.density is None
            else part.density
        )
        key = (rho, salted, 0.0)
        found[key] = (*found.get(key, ()), part.name)
    return found


def _pour(
    case: Case,
    pieces: tuple[str, ...],
    mixed: Mixture,
    softener: float,
    pot: float,
    runners: tuple[float, float, float],
) -> Pour:
    density, salt, hollow = mixed
    mass = FILLED * pot * density
    shares = {"compound": 1.0 - softener - salt - hollow, "softener": softener, "salt": salt,
              "microballoons": hollow}  # fmt: skip
    if shares["compound"] <= 0.0:
        raise InputError("material: softener and fillers are the whole pot; nothing is left to set")
    one = _mass_of(case, pieces)
    cavities = case.shop.cavities
    plate = one[1] * cavities * (1.0 + runners[1])
    plates = _counted(mass, one, cavities, runners)
    return Pour(
        pieces=pieces,
        density=density,
        ingredients=tuple((name, share * mass) for name, share in shares.items() if share > 0.0),
        one=one,
        plate=plate,
        plates=plates,
        baits=(cavities * plates[0], cavities * plates[1], cavities * plates[2]),
    )


def _mass_of(case: Case, pieces: Sequence[str]) -> tuple[float, float, float]:
    """Return what one lure takes of a mixture [kg], with its band."""
    low = value = high = 0.0
    for record in whole_records(assemble_whole(case, assemble(case))):
        if record.quantity != "mass" or record.part.split("/")[0] not in pieces:
            continue
        numbers = [x if isinstance(x, float) else 0.0 for x in (record.low, record.value,
                                                               record.high)]  # fmt: skip
        low, value, high = low + numbers[0], value + numbers[1], high + numbers[2]
    return low, value, high


def _counted(
    mass: float,
    one: tuple[float, float, float],
    cavities: int,
    runners: tuple[float, float, float],
) -> tuple[int, int, int]:
    """Return whole plates of a pot [kg] and their band; what is in doubt adds as squares."""

    def count(bait: float, runner: float, left: float) -> float:
        return mass * (1.0 - left) / (bait * cavities * (1.0 + runner))

    middle = count(one[1], runners[1], LEFT)
    ends = []
    for k, other in ((2, 1), (0, 0)):
        moved = (
            count(one[k], runners[1], LEFT),
            count(one[1], runners[k], LEFT),
            count(one[1], runners[1], LEFT_ENDS[other]),
        )
        ends.append(math.hypot(*(math.log(x / middle) for x in moved)))
    low, high = middle * math.exp(-ends[0]), middle * math.exp(ends[1])
    return math.floor(low), math.floor(middle), math.floor(high)
