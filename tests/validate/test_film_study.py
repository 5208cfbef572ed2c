"""The pages about films and experiments: what they claim is what they computed."""

import math

import pytest

from simsoft.aquarium.measured import Flag, Measured
from simsoft.validate.studies.experiments import section, silicone_rows
from simsoft.validate.studies.film import section_text
from simsoft.validate.studies.film_clip import Tank, render, stamps
from simsoft.validate.studies.film_rows import ClipRow


def test_experiments_page_says_there_is_none_of_a_lure():
    page = section()
    assert "not validated against anything" in page
    assert len(silicone_rows()) == 11
    assert "Geometric mean" in page


def test_a_clear_wrong_row_is_counted_as_dishonest():
    beat = Measured("flap_frequency", 5.2, 0.01, "Hz", "", 5)
    stroke = Measured("stroke", 0.02, 0.001, "m", "", 5)
    wrong = ClipRow("tail", "a", 120.0, 5.0, 0.02, beat, stroke)
    flagged = ClipRow("tail", "b", 120.0, 5.0, 0.02, Measured(
        "flap_frequency", 5.2, 0.01, "Hz", "", 5, {}, (Flag("alias", "x"),)), stroke)  # fmt: skip
    assert not wrong.honest
    assert flagged.honest
    page = " ".join(section_text([wrong, flagged], []).split())
    assert "2 clips, 2 measurements" in page
    assert "1 are called clear and are not within 2 % of the beat and 5 % of the stroke" in page
    assert "tail, a." in page
    assert wrong.rate_error == pytest.approx(0.04)
    assert math.isnan(ClipRow("t", "", 1.0, 5.0, 0.02, beat, None).stroke_error)


def test_stamps_are_uneven_where_asked_and_rise():
    time = stamps(Tank(jitter=0.4, rate=30.0))
    assert (time[1:] > time[:-1]).all()
    assert (time[1:] - time[:-1]).std() > 0.2 / 30.0


def test_a_drawn_frame_is_dark_on_light():
    from drawn_tail import still_tail

    frames, _ = render(still_tail(), Tank(seconds=0.05))
    assert frames.min() < 100 < frames.max()
