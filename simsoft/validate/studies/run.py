"""Studies of the program itself: convergence, thickness window, cold water, symmetry, control,
sanity brackets.

``python -m simsoft.validate.studies.run`` prints the page; ``--write`` puts it beside the published
checks as ``STUDIES.md``. Every number and every claim on it is computed by the run.
"""

from __future__ import annotations

import argparse
from collections.abc import Callable, Sequence

from simsoft import __version__
from simsoft.core.files import write_text
from simsoft.validate.locate import checks_directory
from simsoft.validate.studies import (
    bending_paddles,
    brackets,
    control,
    convergence,
    free_plates,
    judges,
    plates,
    practice,
    symmetry,
    water,
    widths,
    window,
)

PAGE = "STUDIES.md"
HEAD = """# Studies

Written by `python -m simsoft.validate.studies.run --write` with simsoft {version}; numbers
and claims are computed by that command. Published checks are in `README.md` beside this page.

"""


STUDIES: dict[str, Callable[[], str]] = {
    "convergence": lambda: convergence.section(convergence.study()),
    "window": lambda: window.section(window.study()),
    "water": lambda: water.section(water.study()),
    "symmetry": lambda: symmetry.section(symmetry.study()),
    "control": lambda: control.section(control.study()),
    "brackets": lambda: brackets.section(brackets.study()),
    "practice": lambda: practice.section(practice.study()),
    "judges": lambda: judges.section(judges.study()),
    "widths": lambda: widths.section(widths.study()),
    "plates": plates.section,
    "stems": bending_paddles.section,
    "leaves": free_plates.section,
}


def studies_page(names: Sequence[str] = tuple(STUDIES)) -> str:
    """Run studies and return them as one Markdown page."""
    parts = [HEAD.format(version=__version__), *(STUDIES[name]() for name in names)]
    return "\n\n".join(part.strip("\n") for part in parts) + "\n"


def main(arguments: Sequence[str] | None = None) -> None:
    """Run the studies from the command line."""
    parser = argparse.ArgumentParser(
        prog="python -m simsoft.validate.studies.run", description=__doc__
    )
    parser.add_argument("names", nargs="*", metavar="STUDY", help=", ".join(STUDIES))
    parser.add_argument("--write", action="store_true", help=f"write validation/{PAGE}")
    options = parser.parse_args(arguments)
    unknown = [name for name in options.names if name not in STUDIES]
    if unknown:
        parser.error(f"no study is called {unknown[0]}; there are {', '.join(STUDIES)}")
    if options.write and options.names:
        parser.error("--write writes the whole page; give no names with it")
    text = studies_page(options.names or tuple(STUDIES))
    if options.write:
        write_text(checks_directory() / PAGE, text)
    else:
        print(text, end="")


if __name__ == "__main__":
    main()
