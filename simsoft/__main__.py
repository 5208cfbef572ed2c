"""``python -m simsoft`` and the ``simsoft`` command.

Until the command line is loaded, Ctrl-C ends the process at once and without a trace.
"""

import signal
from collections.abc import Sequence
from typing import NoReturn


def main(arguments: Sequence[str] | None = None) -> NoReturn:
    """Load the command line and run it; see ``simsoft.cli.main.main``."""
    kept = signal.signal(signal.SIGINT, signal.SIG_DFL)
    from simsoft.cli.main import main as run

    signal.signal(signal.SIGINT, kept)
    run(arguments)


if __name__ == "__main__":
    main()
