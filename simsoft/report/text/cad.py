"""The text of ``simsoft cad``: parameters, cavity, shot, and what a loop costs."""

from __future__ import annotations

from collections.abc import Sequence

from simsoft.design.cad import Parameter, Shot
from simsoft.design.cost import Cost
from simsoft.design.tolerance import Probability
from simsoft.report.text.brief import folded
from simsoft.report.text.sweep import aligned
from simsoft.report.text.tolerance import percent

CAUTION = (
    "Hot plastisol burns and its fumes harm; follow the supplier's safety data sheet. Cut what "
    "was measured on a part that swam well rather than what CAD says."
)


def cad_text(
    title: str,
    parameters: Sequence[Parameter],
    cavity: Sequence[Parameter],
    shot: Shot,
    chance: Probability | None,
    costs: Cost | None,
) -> str:
    """Return the whole text."""
    lines = [f"{title}: sizes for CAD", *_rows(parameters), "", "Cavity", *_rows(cavity), ""]
    lines += folded(
        f"Shot: {1e3 * shot.mass:.3g} g ({1e6 * shot.volume:.3g} cm3) a lure, "
        f"{1e3 * shot.plate_mass:.3g} g ({1e6 * shot.plate_volume:.3g} cm3) for "
        f"{shot.cavities} {'cavity' if shot.cavities == 1 else 'cavities'} with "
        f"{100 * shot.runner_share:.0f} % of runner (common practice, no source).",
        later="",
    )
    if chance is not None and costs is not None:
        lines += ["", *cost_lines(chance, costs)]
    lines += ["", *folded(CAUTION, later="")]
    return "\n".join(lines) + "\n"


def cost_lines(chance: Probability, costs: Cost) -> list[str]:
    """Return what going to metal now is expected to cost against one more loop."""
    word = (
        f"a loop pays if it lowers the chance of failing by {100 * costs.threshold:.0f} points"
        if costs.loop_can_pay
        else "no loop can pay for itself; the risk is the smaller cost"
    )
    return folded(
        f"The brief is met by {percent(chance)} of samples. Metal now: expected loss "
        f"{costs.expected:.3g} ({100 * (1 - chance.value):.0f} % of {costs.metal:.3g}); one more "
        f"resin loop: {costs.loop:.3g}; {word} (threshold {100 * costs.threshold:.0f} points; "
        "[shop] holds the costs, defaults are common practice, no source).",
        later="",
    )


def _rows(parameters: Sequence[Parameter]) -> list[str]:
    return aligned(
        [["name", "value", "unit", "comment"]]
        + [[p.name, p.value, p.unit, p.comment] for p in parameters]
    )
