"""Published experiments: what can be had as numbers, what cannot, and how far the model is off.

``python -m simsoft.validate.studies.experiments`` prints the page; ``--write`` puts it beside the
published checks as ``EXPERIMENTS.md``.
"""

from __future__ import annotations

import argparse
import math
from collections.abc import Sequence

from simsoft import __version__
from simsoft.core.files import write_text
from simsoft.properties.material import DEFAULTS, formula_modulus
from simsoft.validate.locate import checks_directory
from simsoft.validate.studies import foils

PAGE = "EXPERIMENTS.md"
# Catalogue hardness and Young's modulus [kPa], low and high of the batches: neo-Hookean fit over
# 0 to 50 % strain to the open tensile data of Marechal et al. 2021, Soft Robotics 8:284 (ASTM
# D412, 450 mm/min, strain from crosshead travel, which reads 1.2 to 1.5 times too much).
SILICONES = (
    ("OO", 10, 22, 26),
    ("OO", 30, 45, 50),
    ("OO", 35, 81, 90),
    ("OO", 50, 62, 71),
    ("A", 10, 139, 157),
    ("A", 10, 175, 198),
    ("A", 16, 260, 279),
    ("A", 20, 390, 450),
    ("A", 20, 341, 342),
    ("A", 30, 571, 624),
    ("A", 40, 856, 885),
)
CROSSHEAD = math.sqrt(1.2 * 1.5)  # gauge strain is smaller by about this (from memory)
HEAD = """# Published experiments

Written by `python -m simsoft.validate.studies.experiments --write` with simsoft {version}.

**There is no published measurement of a soft strip in a stream on this page.** A search of open
papers and data found none that could be read as numbers with everything needed to run it:

- Drag and posture of model eelgrass blades in a flume (Luhar & Nepf 2011, Limnol. Oceanogr.
  56:2003) are printed as figures; the numbers behind them could not be had. Check C05 repeats
  the *model* of that paper, about which, by the authors' own account, the measured blades scatter
  by 10 to 15 %; it is no comparison with the measurement.
- The measured tip path of one foam blade of 200 mm in waves (Luhar & Nepf 2016, J. Fluids Struct.
  61:20) exists as an open text file, but it is a blade in waves, a question this program does
  not answer.
- Data of flexible plates bolted across a flume, and of inverted flags, are of plastics a thousand
  times stiffer than a lure, or clamped at the wrong end.
- A natural-rubber plate behind a round cylinder in a water channel (benchmark FSI-PfS-1a, case
  UFR 2-13 of a public wiki of flow cases) is described with its sizes, but the cylinder's wake
  drives it and it spans the channel from wall to wall: neither is a tail.
- Taps with a hammer on a flexible beam in air and dipped 0.25 and 0.5 m into a basin (data of a
  2023 conference paper, openly kept) are held in binary files that could not be had, the beam's
  sizes in a drawing; it pierces the surface.
- Steel plates swinging in water (Lindholm, Kana, Chu & Abramson 1965, J. Ship Res. 9:11): the
  printed table could not be read, in the paper or in those that quote it. Check B04 is recomputed
  by independent means, not measured.
- Blades of silicone rubber side by side in a water tunnel (arXiv 2501.03215): only the summary
  could be read; it gives no sizes, speeds or drags, and a blade in a bunch is no blade alone.
- Hanging heavy plates, their frequency against their length (2021, Lat. Am. J. Solids Struct.),
  swing in air and are plotted; flags of paper and plastic (Eloy, Lagrange, Souilliez & Schouveiler
  2008, J. Fluid Mech.) flutter in wind, printed as curves.
- Heavy flags in flowing water (Shelley, Vandenberghe & Zhang 2005, Phys. Rev. Lett. 94:094302),
  heaving flexible foils and panels (Paraz, Schouveiler & Eloy 2016, Phys. Fluids; Quinn, Lauder &
  Smits 2014, J. Fluid Mech.), free-swimming foils (Alben, Witt, Baker, Anderson & Lauder 2012,
  Phys. Fluids), plates folding across a stream (Gosselin, de Langre & Machado-Almeida 2010, J.
  Fluid Mech.; Schouveiler & Boudaoud 2006, J. Fluid Mech.), a plate in waves (Polly and others
  2025, J. Fluid Mech.): no more than summaries could be read, none with numbers. References of
  this line from memory but for the last.
- Paper flags 60 to 160 mm long in wind (public repository "2024_flags" of D'Adamo): the speeds at
  which flutter starts and stops are there as numbers, with the paper's bending length, but the
  flags stand in the mixing layer at a wind tunnel's outlet, not in an even stream. The points of
  others copied there from plots name neither material nor set-up.
- No measurement of a lure's tail was found at all: start speed, beat and stroke of paddles are
  **not validated against anything**. `simsoft compare` with your own tank is the only test.

What follows are the two sets that could be had as numbers: moduli of soft moulded rubbers against
the modulus this program takes from their durometer, and stiff foils ringing in a water tunnel.

## Modulus from durometer against tensile tests of silicones

Predicted: hardness formula times the static factor {factor:g}. Measured: fit to open tensile data
(Marechal et al. 2021, Soft Robotics 8:284), corrected by {crosshead:.2f} for strain read from the
crosshead (from memory). The static factor was set on these same data, so that the mean error is a
fit and only the scatter is a test; silicones are not plastisol.

| durometer | measured [kPa] | predicted [kPa] | predicted over measured |
|---|---|---|---|
"""


def silicone_rows() -> list[tuple[str, float, float]]:
    """Return durometer, measured and predicted modulus [Pa] of every silicone."""
    found = []
    for scale, points, low, high in SILICONES:
        measured = 1e3 * math.sqrt(low * high) * CROSSHEAD
        predicted = formula_modulus(scale, float(points)) * DEFAULTS.static_factor
        found.append((f"{points} {scale}", measured, predicted))
    return found


def section() -> str:
    """Return the first part of the page: what could not be had, and the moduli."""
    lines = [HEAD.format(version=__version__, factor=DEFAULTS.static_factor, crosshead=CROSSHEAD)]
    logs = []
    for name, measured, predicted in silicone_rows():
        logs.append(math.log(predicted / measured))
        lines.append(
            f"| {name} | {measured / 1e3:.0f} | {predicted / 1e3:.0f} | "
            f"x{predicted / measured:.2f} |\n"
        )
    mean = sum(logs) / len(logs)
    scatter = math.sqrt(sum((x - mean) ** 2 for x in logs) / (len(logs) - 1))
    inside = sum(abs(x) <= math.log(DEFAULTS.static_scatter) for x in logs)
    lines.append(
        f"\nGeometric mean x{math.exp(mean):.2f}, scatter x/: {math.exp(scatter):.2f} (one sigma); "
        f"{inside} of {len(logs)} within the stated x/: {DEFAULTS.static_scatter:g}, "
        f"worst x{math.exp(max(logs, key=abs)):.2f}.\n"
    )
    return "".join(lines)


def main(arguments: Sequence[str] | None = None) -> None:
    """Print or write the page."""
    parser = argparse.ArgumentParser(prog="python -m simsoft.validate.studies.experiments")
    parser.add_argument("--write", action="store_true", help=f"write validation/{PAGE}")
    options = parser.parse_args(arguments)
    page = section() + foils.section([foils.answer(foil) for foil in foils.FOILS])
    if options.write:
        write_text(checks_directory() / PAGE, page)
    else:
        print(page, end="")


if __name__ == "__main__":
    main()
