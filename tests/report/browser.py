"""A browser for the tests of the page, found on this machine or the tests are skipped."""

import re
import shutil
from contextlib import contextmanager

import pytest

NAMES = ("chromium", "chromium-browser", "google-chrome", "chrome")
MISSING = "no browser to look at the page with: install the package `chromium`"

CONTRAST = 4.5  # WCAG 2.1, success criterion 1.4.3
PAGES = 3
MOST_BYTES = 500_000
PHONE, DESK = 390, 1280

# how long each picture took to draw [ms], without what the machine did between two
TIME_FRAMES = """
window.drawn = [];
const ask = window.requestAnimationFrame.bind(window);
window.requestAnimationFrame = (f) => ask((t) => {
  const begun = performance.now();
  f(t);
  window.drawn.push(performance.now() - begun);
});
"""
# every text with less contrast than asked for against what stands behind it
LOW_CONTRAST = """
(least) => {
  const pen = document.createElement('canvas').getContext('2d', { willReadFrequently: true });
  const rgba = (colour) => {
    pen.clearRect(0, 0, 1, 1);
    pen.fillStyle = colour;
    pen.fillRect(0, 0, 1, 1);
    return [...pen.getImageData(0, 0, 1, 1).data];
  };
  const light = (c) => {
    const [r, g, b] = c.slice(0, 3).map((x) => x / 255)
      .map((x) => x <= 0.04045 ? x / 12.92 : ((x + 0.055) / 1.055) ** 2.4);
    return 0.2126 * r + 0.7152 * g + 0.0722 * b;
  };
  const behind = (item) => {
    for (let at = item; at; at = at.parentElement) {
      const colour = rgba(getComputedStyle(at).backgroundColor);
      if (colour[3] === 255) return colour;
    }
    return [255, 255, 255, 255];
  };
  const low = [];
  const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  let seen = 0;
  while (walk.nextNode()) {
    const item = walk.currentNode.parentElement;
    if (!walk.currentNode.textContent.trim() || !item.getClientRects().length) continue;
    if (['SCRIPT', 'STYLE', 'TITLE', 'title'].includes(item.tagName)) continue;
    const style = getComputedStyle(item);
    const ink = light(rgba(item instanceof SVGElement ? style.fill : style.color));
    const ground = light(behind(item));
    const contrast = (Math.max(ink, ground) + 0.05) / (Math.min(ink, ground) + 0.05);
    seen += 1;
    if (contrast < least) low.push([walk.currentNode.textContent.slice(0, 40), contrast]);
  }
  return [seen, low];
}
"""


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


def papers(page, paper):
    """Return how many sheets of paper a page prints on."""
    return len(re.findall(rb"/Type\s*/Page[^s]", page.pdf(format=paper)))
