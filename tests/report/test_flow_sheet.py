"""The page of a resolved run: the reduced model stands beside each of its numbers."""

from pages import Page

from simsoft.report.html.flow import resolved_sheet
from simsoft.report.html.sheet import sheet_page
from simsoft.results.record import Record, missing

BASIS = "resolved flow, 24 cells a diameter"


def record(quantity, value, unit, speed):
    at = {"speed": speed}
    return Record("stream", "tail", quantity, value, 0.8 * value, 1.2 * value, unit, BASIS, at)


RESOLVED = [
    record("stroke", 0.01, "m", 0.4),
    record("flap_frequency", 5.0, "Hz", 0.4),
    missing("stream", "tail", "flap_frequency", "Hz", BASIS, "no beat on this grid", speed=0.2),
]
REDUCED = [record("stroke", 0.02, "m", 0.4), record("stroke", 0.5, "m", 0.6)]


def sheet(unit="mm", does=("beats", "still")):
    return resolved_sheet("own", ["tail beats"], does, RESOLVED, REDUCED, [], unit)


def test_the_same_number_of_the_reduced_model_stands_beside():
    rows = [dict(zip(sheet().head, row, strict=True)) for row in sheet().rows]
    assert [row["reduced"] for row in rows] == [0.02, None, None]
    assert [row["value"] for row in rows] == [0.01, 5.0, None]
    assert rows[2]["reason"] == "no beat on this grid"


def test_the_verdict_counts_the_speeds_at_which_it_beats():
    assert sheet().word == "beats at 1 of 2 speeds"


def test_a_tail_that_only_stirs_is_not_said_to_beat():
    """Its rate is known, and yet it does not beat."""
    assert sheet(does=("stirs", "still")).word == "beats at 0 of 2 speeds"
    assert sheet(does=("stirs",)).word == "stirs"


def test_the_page_tells_both_in_the_users_unit():
    page = Page(sheet_page(sheet("inch"), "text", "case", "now"))
    cells = [cell[2] for cell in page.all("td")]
    assert "1.31 ft/s" in cells
    assert any("0.39 inch" in cell for cell in cells)
    assert any("0.79 inch" in cell for cell in cells)
    assert "none: no beat on this grid" in cells
