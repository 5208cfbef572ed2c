"""simsoft: predict the action of a soft-plastic lure before anything is printed.

>>> import simsoft
>>> case = simsoft.load("cases/paddle_100.toml", ["parts.tail.thickness=2.2 mm"])
>>> result = simsoft.run(case)
>>> result["start_speed"].value, result["stroke", 0.6].low
>>> result.table("flap_frequency", "stroke")  # columns that a data frame takes

``loads`` reads a case from text. ``sweep``, ``pick``, ``tolerance``, ``cad``, ``measure``,
``compare``, ``calibrate``, ``plan`` and ``resolve`` are the commands of that name, their answers
as dictionaries. ``rod``, ``modes``, ``equilibria`` and ``march`` take one part by single steps.
Everything is in SI units, imported when first used.
"""

from importlib import import_module
from typing import TYPE_CHECKING, Any

__version__ = "0.1.0"

if TYPE_CHECKING:
    from simsoft.case.read import load, loads
    from simsoft.engine.part import equilibria, march, modes, rod
    from simsoft.engine.run import run

_HOMES = {
    **dict.fromkeys(("load", "loads"), "simsoft.case.read"),
    "run": "simsoft.engine.run",
    **dict.fromkeys(("rod", "modes", "equilibria", "march"), "simsoft.engine.part"),
}
# commands of the command line that are functions too
COMMANDS = (
    "sweep", "pick", "tolerance", "cad", "measure", "compare", "calibrate", "plan", "resolve",
)  # fmt: skip

__all__ = [
    "__version__",
    "cad",
    "calibrate",
    "compare",
    "equilibria",
    "load",
    "loads",
    "march",
    "measure",
    "modes",
    "pick",
    "plan",
    "resolve",
    "rod",
    "run",
    "sweep",
    "tolerance",
]  # fmt: skip


def __getattr__(name: str) -> Any:
    if name in _HOMES:
        return getattr(import_module(_HOMES[name]), name)
    if name in COMMANDS:
        from functools import partial

        from simsoft.cli.called import call

        return partial(call, name)
    raise AttributeError(f"module 'simsoft' has no attribute {name!r}")
