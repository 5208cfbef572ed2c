"""The page of explore: its numbers are the solver's, and closing it ends the server."""

import threading
from pathlib import Path

import pytest
from browser import CONTRAST, DESK, LOW_CONTRAST, PHONE

from simsoft.case.read import load
from simsoft.cli import explore_server
from simsoft.cli.explore_server import make_server, serve
from simsoft.cli.explore_service import service_of
from simsoft.design.sweep.screening import screening_records
from simsoft.results.record import select

CASE = Path("cases/paddle_100.toml")


@pytest.fixture(scope="module")
def served():
    """A running server and its address."""
    service = service_of(str(CASE), ())
    server = make_server(service, 0)
    thread = threading.Thread(target=serve, args=(server, service), daemon=True)
    thread.start()
    yield f"http://127.0.0.1:{server.server_address[1]}/?token={service.token}", service, thread
    server.shutdown()
    thread.join(10)


@pytest.fixture
def explored(browser, served):
    """The page, opened, with what it said and asked for."""
    contexts = []

    def go(width=DESK, **options):
        context = browser.new_context(viewport={"width": width, "height": 900}, **options)
        contexts.append(context)
        page = context.new_page()
        page.said, page.asked = [], []
        page.on("console", lambda message: page.said.append(message.text))
        page.on("pageerror", lambda error: page.said.append(str(error)))
        page.on("request", lambda request: page.asked.append(request.url))
        page.goto(served[0])
        page.wait_for_selector("#told .lead")
        settled(page)
        return page

    yield go
    for context in contexts:
        context.close()


def settled(page):
    """Wait until the page has the answer to what it asked last."""
    page.wait_for_selector("#told:not([aria-busy])")


def move(page, place, value):
    page.locator(f"#knob-{place}").fill(str(value))
    settled(page)


def test_its_numbers_are_those_of_the_screening_solver(explored):
    page = explored()
    move(page, 0, 2.4)
    assert page.inner_text("#knob-0 + output") == "2.4 mm"
    records = screening_records(load(CASE, ["parts.tail.thickness=2.4 mm"]))
    (start,) = select(records, "start_speed")
    told = page.inner_text("#told .lead").split("starts at ")[1].split()[0]
    assert float(told) == pytest.approx(start.value, rel=2e-3)
    rows = page.locator("#told .wide tbody tr").all_inner_texts()
    assert len(rows) == len({r.at["speed"] for r in records if r.at.get("speed")})
    assert page.said == []


def test_a_thousand_moves_end_at_the_last_one(explored):
    page = explored()
    page.evaluate(
        "() => { const k = document.getElementById('knob-0');"
        " for (let i = 0; i < 1000; i++) { if (i % 2) k.stepUp(); else k.stepDown();"
        " k.dispatchEvent(new Event('input')); }"
        " k.value = 2.2; k.dispatchEvent(new Event('input')); }"
    )
    settled(page)
    (start,) = select(screening_records(load(CASE, ["parts.tail.thickness=2.2 mm"])), "start_speed")
    told = page.inner_text("#told .lead").split("starts at ")[1].split()[0]
    assert float(told) == pytest.approx(start.value, rel=2e-3)
    assert len(page.asked) < 20
    assert page.said == []


def test_it_asks_its_own_server_alone(explored, served):
    page = explored()
    home = served[0].partition("/?")[0]
    assert all(url.startswith(f"{home}/") for url in page.asked)


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [PHONE, DESK])
def test_it_reads_well(explored, scheme, width):
    page = explored(width=width, color_scheme=scheme)
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    assert page.evaluate(LOW_CONTRAST, CONTRAST)[1] == []


def test_the_server_ends_when_the_tab_is_closed(explored, served, monkeypatch):
    """The last test of this module: it ends the server."""
    monkeypatch.setattr(explore_server, "LEFT", 0.3)
    page = explored()
    page.close(run_before_unload=False)
    served[2].join(15)
    assert not served[2].is_alive()
