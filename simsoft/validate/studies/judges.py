"""Study: how often ten designs meet a brief, by screening and by marching the same samples.

`pick` and `tolerance` judge by screening where every clause of a brief asks for a start; all others
are marched. Both judges get the same draws of everything that scatters, so that their difference is
the judge's alone.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory

from simsoft.design.sweep.run import local_runner, read_base
from simsoft.design.tolerance import make_trial, points, probability, run_samples
from simsoft.validate.locate import checks_directory
from simsoft.validate.studies.tools import table

FOLDER = "judges"
SAMPLES, SEED = 64, 1
TAIL = "parts.tail"
DESIGNS: tuple[tuple[str, ...], ...] = (
    (),
    (f"{TAIL}.thickness=1.7 mm",),
    (f"{TAIL}.thickness=2.3 mm",),
    (f"{TAIL}.thickness=2.6 mm",),
    (f"{TAIL}.paddle_offset=3 mm",),
    (f"{TAIL}.paddle_offset=7 mm",),
    (f"{TAIL}.paddle_thickness=2.2 mm",),
    (f"{TAIL}.paddle_diameter=12 mm",),
    ("material.durometer=54 OO",),
    ("water.temperature=10 degC",),
)


@dataclass(frozen=True)
class BothJudged:
    """One design judged by both.

    Attributes
    ----------
    design : tuple of str, what was changed
    fast, full : float [-], share of the samples that meet the brief
    apart : int, samples that the two judge differently
    samples : int
    """

    design: tuple[str, ...]
    fast: float
    full: float
    apart: int
    samples: int

    @property
    def allowed(self) -> float:
        """Twice the binomial error of the marched share, at least that of one sample in all."""
        share = min(max(self.full, 1.0 / self.samples), 1.0 - 1.0 / self.samples)
        return 2.0 * math.sqrt(share * (1.0 - share) / self.samples)

    @property
    def agree(self) -> bool:
        """Return whether the shares differ by no more than that."""
        return abs(self.fast - self.full) <= self.allowed


def study(designs: Sequence[tuple[str, ...]] = DESIGNS, samples: int = SAMPLES) -> list[BothJudged]:
    """Judge designs by screening and by march, all samples of both."""
    case = checks_directory() / FOLDER / "tail.toml"
    with TemporaryDirectory() as directory:
        return [
            _judged(case, design, samples, Path(directory) / str(number))
            for number, design in enumerate(designs)
        ]


def _judged(case: Path, design: tuple[str, ...], samples: int, directory: Path) -> BothJudged:
    base = read_base(case, design)
    passes = []
    for full in (False, True):
        trial = make_trial(base, full=full)
        folder = directory / trial.mode
        folder.mkdir(parents=True)
        shares = points(trial, samples, SEED)
        runner = local_runner(None, trial.mode)
        passes.append([s.passes for s in run_samples(trial, shares, folder, runner)])
    fast, marched = passes
    apart = sum(one != other for one, other in zip(fast, marched, strict=True))
    return BothJudged(
        design, probability(fast).value, probability(marched).value, apart, len(marched)
    )


def section(rows: Sequence[BothJudged]) -> str:
    """Return the study as Markdown."""
    cells = [
        [
            "; ".join(row.design) or "as it is",
            f"{row.fast:.0%}",
            f"{row.full:.0%}",
            f"{row.apart}",
            f"{row.allowed:.0%}",
            "yes" if row.agree else "NO",
        ]
        for row in rows
    ]
    agree = sum(row.agree for row in rows)
    head = ["design", "by screening", "marched", "judged apart", "allowed", "within it"]
    return (
        "## The fast judge against the march\n\n"
        "Screening judges only briefs that ask for starts; all others are marched. A tail that "
        f"starts at 0.4 m/s at most, at 0.45 in water of 6 degC, in {len(rows)} designs: the share "
        f"of the same {rows[0].samples} draws that meet it. Allowed is twice the binomial error of "
        f"the marched share. {agree} of {len(rows)} lie within it.\n\n"
        f"{table(head, cells)}\n"
    )
