"""Why a saltier lure may fall slower: it lies level and broadside where a lighter one slips."""

from __future__ import annotations

import math
from collections.abc import Callable

from simsoft.core.errors import SolveError
from simsoft.core.quantities import nose
from simsoft.lure.free_lure import Values
from simsoft.results.outcome import Outcome
from simsoft.scenarios.free.fall import Fall

CHANGES = (("denser", 1.05), ("lighter", 0.95))  # of the body: some nine per cent of salt by mass
SLIPS = math.radians(5.0)  # of nose off level or path off the vertical
SLOWER = 0.995


def warn_of_salt(own: Outcome, given: Values, found: Fall, drop: Callable[[Values], Fall]) -> None:
    """Say that salt slows a fall, where it does: the denser body sinks slower than the lighter.

    Two more falls are marched, by ``drop``, with the body 5 % denser and 5 % lighter. A level fall
    is left out: there more weight only sinks faster.
    """
    slips = max(abs(found.final_attitude), found.glide)
    if "body" not in given or slips < SLIPS or found.sink_rate <= 0.0:
        return
    body = given["body"]
    for word, factor in CHANGES:
        try:
            other = drop(given | {"body": body | {"density": factor * body["density"]}})
        except SolveError:
            continue
        slower, faster = (other, found) if factor > 1.0 else (found, other)
        if 0.0 < slower.sink_rate < SLOWER * faster.sink_rate:
            own.warnings.append(_words(word, other, found))
            return


def _words(word: str, other: Fall, found: Fall) -> str:
    there, here = (nose(math.degrees(fall.final_attitude)) for fall in (other, found))
    return (
        f"salt slows this fall: with the body 5 % {word} the lure sinks at "
        f"{other.sink_rate:.3g} m/s in place of {found.sink_rate:.3g} m/s, "
        f"{there} in place of {here}; "
        "the flatter it lies, the more of its side stands against the water"
    )
