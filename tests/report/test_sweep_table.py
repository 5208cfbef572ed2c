"""Tables of a sweep in 80 columns."""

from simsoft.report.text.sweep import fitting


def test_columns_that_do_not_fit_are_named_below_the_table():
    head = ["thickness", *(f"rate at {k} m/s" for k in range(8))]
    lines = fitting([head, ["2.4 mm", *["6.15 Hz yes"] * 8]], 1)
    assert all(len(line) <= 80 for line in lines)
    note = " ".join(
        " ".join(lines[lines.index(next(x for x in lines if "no room" in x)) :]).split()
    )
    shown = sum("6.15 Hz yes" in cell for line in lines for cell in line.split("  "))
    assert 0 < shown < 8
    for k in range(shown, 8):
        assert f"rate at {k} m/s" in note


def test_a_table_that_fits_has_no_note():
    lines = fitting([["thickness", "margin"], ["2.4 mm", "+0.4"]], 2)
    assert not any("no room" in line for line in lines)
