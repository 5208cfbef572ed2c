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
from simsoft.validate.studies import bending_paddles as study_stems
from simsoft.validate.studies import brackets as study_brackets
from simsoft.validate.studies import control as study_control
from simsoft.validate.studies import convergence as study_convergence
from simsoft.validate.studies import free_plates as study_leaves
from simsoft.validate.studies import judges as study_judges
from simsoft.validate.studies import plates as study_plates
from simsoft.validate.studies import practice as study_practice
from simsoft.validate.studies import symmetry as study_symmetry
from simsoft.validate.studies import water as study_water
from simsoft.validate.studies import window as study_window

PAGE = "STUDIES.md"
HEAD = """# Studies

Written by `python -m simsoft.validate.studies.run --write` with simsoft {version}; numbers
and claims are computed by that command. Published checks are in `README.md` beside this page.

"""


def _convergence() -> str:
    return study_convergence.section(study_convergence.study())


def _window() -> str:
    return study_window.section(study_window.study())


def _water() -> str:
    return study_water.section(study_water.study())


def _symmetry() -> str:
    return study_symmetry.section(study_symmetry.study())


def _plates() -> str:
    return study_plates.section()


def _stems() -> str:
    return study_stems.section()


def _leaves() -> str:
    return study_leaves.section()


def _control() -> str:
    return study_control.section(study_control.study())


def _brackets() -> str:
    return study_brackets.section(study_brackets.study())


def _judges() -> str:
    return study_judges.section(study_judges.study())


def _practice() -> str:
    return study_practice.section(study_practice.study())


STUDIES: dict[str, Callable[[], str]] = {
    "convergence": _convergence,
    "window": _window,
    "water": _water,
    "symmetry": _symmetry,
    "control": _control,
    "brackets": _brackets,
    "practice": _practice,
    "judges": _judges,
    "plates": _plates,
    "stems": _stems,
    "leaves": _leaves,
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
