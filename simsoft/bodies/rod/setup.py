"""A strip made ready to be solved: rod, material law, first wet modes."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from simsoft.bodies.rod.equilibrium import Rest, make_stream, rest_branch
from simsoft.bodies.rod.modes import natural_modes
from simsoft.bodies.rod.stability import relaxed_rod, resting
from simsoft.core.arrays import Array
from simsoft.lure.limp import limp_words
from simsoft.lure.parts import Specimen, Strip, law_of
from simsoft.lure.rod_model import build_rod, without_fluid_load
from simsoft.mechanics.material_law import Law
from simsoft.mechanics.rod import Rod, Stream
from simsoft.solvers.modes import Modes, at_own_frequency


@dataclass(frozen=True)
class Ready:
    """A strip at one set of input values.

    Attributes
    ----------
    specimen : Specimen
    rod : Rod of unit modulus in water
    resting_modulus : float [Pa]
    material : Law, modulus [Pa] and Kelvin-Voigt time [s] against frequency [Hz]
    still : Rest, rest shape in still water
    """

    specimen: Specimen
    rod: Rod
    resting_modulus: float
    material: Law
    still: Rest

    @property
    def strip(self) -> Strip:
        """The strip."""
        return self.specimen.strip

    @property
    def values(self) -> dict[str, float]:
        """Input values by name."""
        return self.specimen.values

    def resting_rod(self) -> Rod:
        """Return the rod as a long-held shape feels it: resting modulus, steady paddle."""
        return resting(self.rod, self.resting_modulus)

    def moving_rod(self, rest: Array, stream: Stream, frequency: float) -> Rod:
        """Return the rod as motion at a frequency [Hz] about a rest shape feels it."""
        modulus, time = self.material(frequency)
        return relaxed_rod(self.rod, rest, stream, self.resting_modulus, modulus, time)


def prepare_rod(specimen: Specimen) -> Ready:
    """Return a strip ready to be solved, with its rest shape in still water (or air)."""
    strip, values = specimen.strip, specimen.values
    rod, modulus = build_rod(specimen), values["modulus"]
    still = rest_branch(resting(rod, modulus), np.zeros(1), np.array([1.0, 0.0, 0.0]))[0]
    if not still.found and specimen.gravity and not specimen.air:
        limp = limp_words(strip, specimen.surrounding, values)
        still = replace(still, message=still.message + limp)
    return Ready(specimen, rod, modulus, law_of(strip, values), still)


def modes_at_own_frequency(ready: Ready, count: int) -> Modes:
    """Return natural modes, each with the modulus at its own frequency."""
    modulus, _ = ready.material(1.0)
    rod = relaxed_rod(
        without_fluid_load(ready.rod),
        ready.still.angle,
        make_stream(0.0, np.array([1.0, 0.0, 0.0])),
        ready.resting_modulus,
        modulus,
        0.0,
    )
    found = natural_modes(rod, ready.still.angle, count)
    return at_own_frequency(found, ready.strip.rate_exponent)
