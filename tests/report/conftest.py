"""A real run and a browser that the tests of the pages share."""

import pytest
from browser import DESK, TIME_FRAMES, running_browser
from pages import SHEDDING

from simsoft.case.read import load
from simsoft.engine.run import run


@pytest.fixture(scope="session")
def paddle_run():
    """The demo paddle in a wake that drives it, solved without bands."""
    return run(load("cases/paddle_100.toml", SHEDDING), bands=False)


@pytest.fixture(scope="module")
def browser():
    """A headless browser for all tests of a module."""
    with running_browser() as found:
        yield found


@pytest.fixture
def visit(browser):
    """A function that opens a page and returns it with what it said and asked for."""
    opened = []

    def go(path, width=DESK, **options):
        context = browser.new_context(viewport={"width": width, "height": 900}, **options)
        opened.append(context)
        page = context.new_page()
        page.said, page.asked = [], []
        page.on("console", lambda message: page.said.append(message.text))
        page.on("pageerror", lambda error: page.said.append(str(error)))
        page.on("request", lambda request: page.asked.append(request.url))
        page.add_init_script(TIME_FRAMES)
        page.goto(path.as_uri())
        return page

    yield go
    for context in opened:
        context.close()
