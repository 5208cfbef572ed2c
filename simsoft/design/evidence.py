"""What stands behind the beat of a part that is no paddle: one sentence, by kind and model.

Of paddles the sentence on their width says it. The rows of ``guide/trust.md`` say the same.
"""

from __future__ import annotations

from collections.abc import Sequence

from simsoft.case.model import Case
from simsoft.results.record import Record, select

# In the basis of a march: of a paddle (scenarios/retrieve/marcher.py, paddle.py), and of a plate
# that sheds (plate.py there).
PADDLE_WORD = "of a paddle"
SHEDDING = "the wake it sheds"
RODS = {
    "ribbon": "published flutter limits of ribbons (1 %) and their limit cycles (5 %)",
    "strip": "published flutter limits of ribbons (1 %) and their limit cycles (5 %)",
    "curl-tail": (
        "published flutter limits of straight ribbons (1 %); of curls, open or closed, nothing is "
        "published"
    ),
    "fork-tail": (
        "published flutter limits of straight ribbons (1 %), each lobe by itself; nothing is "
        "published of forks"
    ),
    "claw": "a rod that stands in for a wide claw; nothing is published of claws",
    "leg": "published fold-back of blades and rods (1 to 6 %); nothing is published of legs",
}
PLATE = (
    "published plates in still water (3 %) and slender blades in a stream (2 %); stall, start and "
    "stroke of wide plates on nothing published"
)
STATED = "a wake moment that the case states: nothing supports it"
UNRUN = "no resolved run, no film"


def evidence(case: Case, names: Sequence[str], records: Sequence[Record]) -> str | None:
    """Return what the beat of a part rests on, None of a paddle or where no beat was asked.

    Parameters
    ----------
    case : Case
    names : sequence of str, of the part, or of a pair that does the same
    records : sequence of Record of one scenario and this part
    """
    found = select(records, "verdict")
    if not found or any(PADDLE_WORD in record.basis for record in found):
        return None
    kind = next((p.kind for p in case.parts if p.name == names[0].partition("/")[0]), None)
    model = {str(record.value) for record in select(records, "model")}
    if any(SHEDDING in record.basis for record in found):
        rests = STATED
    elif "plate" in model:
        rests = PLATE
    elif kind in RODS:
        rests = RODS[kind]
    else:
        return None
    return f"{rests}; {UNRUN}."
