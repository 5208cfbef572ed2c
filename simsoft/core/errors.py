"""Exceptions and warnings raised on purpose; anything else that escapes is a defect."""

from __future__ import annotations

from collections.abc import Sequence


class SimsoftError(Exception):
    """Base of every error whose message is meant for the user."""


class InputError(SimsoftError):
    """The user's input is wrong; the command line exits with status 2.

    Parameters
    ----------
    problems : sequence of str
        One line per problem, each naming file, key, what was given and what is allowed.
    """

    def __init__(self, problems: Sequence[str] | str) -> None:
        self.problems: tuple[str, ...] = (
            (problems,) if isinstance(problems, str) else tuple(problems)
        )
        super().__init__("\n".join(self.problems))


class SolveError(SimsoftError):
    """A run failed (no equilibrium, divergence); the command line exits with status 1."""


class DamageWarning(UserWarning):
    """A file of the user's was damaged; what was lost is made again, and named."""


class OutputError(SimsoftError):
    """Results could not be written; nothing half-written is left behind."""
