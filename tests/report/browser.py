"""A browser for the tests of the page, found on this machine or the tests are skipped."""

import shutil
from contextlib import contextmanager

import pytest

NAMES = ("chromium", "chromium-browser", "google-chrome", "chrome")
MISSING = "no browser to look at the page with: install the package `chromium`"


@contextmanager
def running_browser():
    """Yield a headless browser."""
    api = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
    found = next((path for path in map(shutil.which, NAMES) if path), None)
    if found is None:
        pytest.skip(MISSING)
    with api.sync_playwright() as driver:
        browser = driver.chromium.launch(
            executable_path=found, args=["--no-sandbox", "--disable-gpu"]
        )
        try:
            yield browser
        finally:
            browser.close()
