"""simsoft: predict the action of a soft-plastic lure before anything is printed.

The Python interface is three functions, imported when first used:

>>> import simsoft
>>> case = simsoft.load("cases/paddle_100.toml", ["parts.tail.thickness=2.2 mm"])
>>> result = simsoft.run(case)
>>> [record.value for record in result.records if record.quantity == "start_speed"]

``loads`` reads a case from text instead of a file. Everything returned is a plain frozen
dataclass in SI units: ``Case``, ``RunResult``, ``Record``.
"""

from typing import TYPE_CHECKING, Any

__version__ = "0.1.0"

if TYPE_CHECKING:
    from simsoft.case.read import load, loads
    from simsoft.engine.run import run

__all__ = ["__version__", "load", "loads", "run"]


def __getattr__(name: str) -> Any:
    if name in ("load", "loads"):
        from simsoft.case import read

        return getattr(read, name)
    if name == "run":
        from simsoft.engine.run import run

        return run
    raise AttributeError(f"module 'simsoft' has no attribute {name!r}")
