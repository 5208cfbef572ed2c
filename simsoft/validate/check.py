"""A published check as read from its folder: what is measured, when, and against what.

A check is a folder ``validation/<ID>`` with ``expected.toml`` and, where a case is run, the
ordinary case file ``case.toml`` beside it. ``expected.toml`` holds

``[check]``
    id, title, source (in full), short (for the table), provenance, and optionally a note.
``[measures.NAME]``
    How a number is found: ``quantity`` of a record, its ``at`` conditions, ``nth`` of the records
    that match and ``component`` of a vector; or ``function = "simsoft.module:name"`` and the
    ``item`` of its result. ``offset + scale * x^power`` turns it into the published number.
    ``tolerance`` is "0.5 %" (of the expected value) or a bare number (absolute).
``[[runs]]``
    ``condition`` in words, ``set`` (overrides of the case) or ``arguments`` (of the functions),
    ``expect = { NAME = value }``; ``unlike`` lists values that must *not* be matched; ``scale`` and
    ``tolerance`` replace those of the measure. With ``each`` the functions are called for every
    value of that argument and lists are expected.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

Expected = float | tuple[float, ...]


@dataclass(frozen=True)
class AllowedDifference:
    """Largest allowed difference.

    Attributes
    ----------
    size : float, a share of the expected value, or in its unit
    relative : bool
    """

    size: float
    relative: bool


@dataclass(frozen=True)
class Measure:
    """How one number is found and turned into the published one.

    Attributes
    ----------
    name : str, shown in the table
    tolerance : AllowedDifference
    quantity : str, of a record; empty where a function is called
    at : dict, conditions that the record must have
    nth : int, which of the matching records, from 1
    component : int or None, 0..2 of a vector
    words : tuple of str, for a record that holds one of them; its number, from 0, is compared
    function : str, "module:name"; empty where a record is read
    takes_case : bool, the function gets the checked case first
    item : tuple of str or int, attributes and positions that lead into the function's result
    power, scale, offset : float, found = offset + scale * x^power
    """

    name: str
    tolerance: AllowedDifference
    quantity: str = ""
    at: Mapping[str, float | int | str] = field(default_factory=dict)
    nth: int = 1
    component: int | None = None
    words: tuple[str, ...] = ()
    function: str = ""
    takes_case: bool = False
    item: tuple[str | int, ...] = ()
    power: float = 1.0
    scale: float = 1.0
    offset: float = 0.0


@dataclass(frozen=True)
class Run:
    """One condition of a check with the values published for it.

    Attributes
    ----------
    condition : str; ``{}`` stands for the value of ``each`` or for the entry of ``labels``
    overrides : tuple of str, ``PATH=VALUE`` settings of the case
    arguments : dict, of the functions
    each : str, the argument whose values are taken one at a time; empty for none
    labels : tuple, one for each entry of an expected list
    expect, unlike : dict of float or tuple by measure, values to meet and values not to meet
    scale : dict of float or tuple by measure, instead of the measure's
    tolerance : dict of AllowedDifference by measure, instead of the measure's
    """

    condition: str
    overrides: tuple[str, ...] = ()
    arguments: Mapping[str, Any] = field(default_factory=dict)
    each: str = ""
    labels: tuple[Any, ...] = ()
    expect: Mapping[str, Expected] = field(default_factory=dict)
    unlike: Mapping[str, Expected] = field(default_factory=dict)
    scale: Mapping[str, Expected] = field(default_factory=dict)
    tolerance: Mapping[str, AllowedDifference] = field(default_factory=dict)


@dataclass(frozen=True)
class Check:
    """One published check.

    Attributes
    ----------
    identity : str, such as "A01"
    title, source, short, provenance, note : str
    case : Path or None, the case file beside the expected values
    measures : dict of Measure by name
    runs : tuple of Run
    """

    identity: str
    title: str
    source: str
    short: str
    provenance: str
    note: str
    case: Path | None
    measures: Mapping[str, Measure]
    runs: tuple[Run, ...]
