"""Material numbers of a case as records, so that a bench test can be compared with them."""

from __future__ import annotations

from simsoft.case.measured import Profile
from simsoft.case.model import Case
from simsoft.core.band import Band
from simsoft.lure.parts import DEFAULT_FREQUENCY, assemble
from simsoft.properties import material
from simsoft.properties.profile import slope_of
from simsoft.results.record import Record

BENCH = "material"


def _record(quantity: str, band: Band, unit: str, **at: float) -> Record:
    return Record(BENCH, "", quantity, band.value, band.low, band.high, unit, band.basis, dict(at))


def _slopes(case: Case) -> list[Record]:
    """Return the temperature slope of the modulus, none where a stated modulus has none."""
    if case.material.youngs_modulus is not None:
        return []
    profile = case.profile or Profile("")
    value, u = slope_of(profile, case)
    basis = "default" if "temperature_slope" not in profile.values else f"profile {profile.title}"
    basis = basis if case.material.temperature_slope is None else "stated"
    return [_record("temperature_slope", Band(value, value - u, value + u, basis), "1/K")]


def material_records(case: Case) -> list[Record]:
    """Return modulus [Pa] at 5 Hz and at rest, ``loss_factor`` and ``density`` of a case.

    The modulus of the first strip where there is one, so that a profile counts.
    """
    strips = assemble(case).strips
    if strips:
        strip = strips[0]
        rate = (DEFAULT_FREQUENCY / material.DEFAULTS.dwell_frequency) ** strip.rate_exponent
        resting = strip.inputs["modulus"]
        found = [
            _record("youngs_modulus", resting.scaled(rate), "Pa", frequency=DEFAULT_FREQUENCY),
            _record("youngs_modulus", resting, "Pa", frequency=0.0),
        ]
        if "loss_factor" in strip.inputs:
            found.append(_record("loss_factor", strip.inputs["loss_factor"], ""))
        found += _slopes(case)
        return [*found, _record("density", strip.inputs["density"], "kg/m^3")]
    return [_record("density", material.material_density(case.material, case.tolerance), "kg/m^3")]
