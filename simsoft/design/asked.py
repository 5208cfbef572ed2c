"""What tells two runs apart: the settings that a case was run with, and its digest."""

from __future__ import annotations

import hashlib

from simsoft.case.model import Case as Case
from simsoft.case.observed import Seen as Seen
from simsoft.case.overrides import settings_of

DIGITS = 12  # of a digest that is read by eye


def asked_settings(case: Case) -> list[str]:
    """Return what ``--set`` changed, as it was written."""
    return settings_of(case.text)


def short_digest(case: Case) -> str:
    """Return the first digits of the SHA-256 of a case's text with its settings."""
    return hashlib.sha256(case.text.encode()).hexdigest()[:DIGITS]
