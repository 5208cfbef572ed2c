"""A real run that the tests of the page share."""

import pytest
from pages import SHEDDING

from simsoft.case.read import load
from simsoft.engine.run import run


@pytest.fixture(scope="session")
def paddle_run():
    """The demo paddle in a wake that drives it, solved without bands."""
    return run(load("cases/paddle_100.toml", SHEDDING), bands=False)
