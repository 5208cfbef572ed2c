"""A plate on its stem made ready to be solved: model, material law, rest shape in still water."""

from __future__ import annotations

from dataclasses import dataclass, replace

from simsoft.bodies.paddle.equilibrium import StemRest, still_stem
from simsoft.bodies.paddle.link import end_of, still_rate
from simsoft.bodies.paddle.modes import STILL, Carried, stem_modes
from simsoft.bodies.rod.equilibrium import Rest
from simsoft.bodies.rod.setup import Ready
from simsoft.bodies.rod.stability import relaxed_rod, resting
from simsoft.hydrodynamics.flexible_paddle import pad_turning
from simsoft.lure.paddle_model import StemModel, build_stem
from simsoft.lure.parts import Specimen, Strip, law_of
from simsoft.lure.rod_model import build_rod, without_fluid_load
from simsoft.mechanics.material_law import Law
from simsoft.mechanics.plate import relaxed_plate
from simsoft.mechanics.rod import Stream
from simsoft.solvers.modes import Modes, at_own_frequency


@dataclass(frozen=True)
class StemReady:
    """A paddle that bends on its stem, at one set of input values.

    Attributes
    ----------
    strip : Strip
    values : dict of input values by name
    model : StemModel
    stiff : Ready, the same with the paddle as a stiff disc, for drawings and clearance
    resting_modulus : float [Pa]
    material : Law, modulus [Pa] and Kelvin-Voigt time [s] against frequency [Hz]
    still : StemRest, rest shape in still water
    """

    strip: Strip
    values: dict[str, float]
    model: StemModel
    stiff: Ready
    resting_modulus: float
    material: Law
    still: StemRest

    def resting(self) -> Carried:
        """Return plate and stem as a long-held shape feels them: the steady moment only."""
        return _resting(self.model, self.resting_modulus)

    def moving(self, rest: StemRest, stream: Stream, modulus: float, time: float) -> Carried:
        """Return plate and stem as motion about a long-held rest shape feels them.

        See ``rod.stability.relaxed_rod``; ``modulus`` [Pa] and Kelvin-Voigt ``time`` [s] are those
        of the motion.
        """
        model, share = self.model, self.resting_modulus / modulus
        rod = relaxed_rod(model.rod, rest.angle, stream, self.resting_modulus, modulus, time)
        if model.pad is not None:
            frame, node = end_of(rod, rest.angle)
            rate = still_rate(stream, frame, node, rest.state)
            steady = pad_turning(model.pad, rest.state, rate)
            paddle = model.pad.paddle._replace(steady_turning=steady)
            model = replace(model, pad=model.pad._replace(paddle=paddle))
        return Carried(model, rod, relaxed_plate(model.plate, rest.state, share), modulus)


def _resting(model: StemModel, modulus: float) -> Carried:
    if model.pad is not None:
        paddle = model.pad.paddle._replace(munk=0.0)
        model = replace(model, pad=model.pad._replace(paddle=paddle))
    return Carried(model, resting(model.rod, modulus), model.plate, modulus)


def prepare_stem(specimen: Specimen) -> StemReady:
    """Return a paddle on its stem ready to be solved, with its rest shape in still water or air."""
    strip, values = specimen.strip, specimen.values
    model, disc = build_stem(specimen), build_rod(specimen)
    modulus, law = values["modulus"], law_of(strip, values)
    still = still_stem(_resting(model, modulus))
    rest = Rest(still.angle, still.found, still.message)
    stiff = Ready(specimen, disc, modulus, law, rest)
    return StemReady(strip, values, model, stiff, modulus, law, still)


def stem_modes_at_own_frequency(ready: StemReady, count: int) -> Modes:
    """Return natural modes, each with the modulus at its own frequency."""
    modulus, _ = ready.material(1.0)
    moving = ready.moving(ready.still, STILL, modulus, 0.0)
    dry = moving._replace(rod=without_fluid_load(moving.rod))
    found = stem_modes(dry, ready.still.angle, ready.still.state, count)
    return at_own_frequency(found, ready.strip.rate_exponent)
