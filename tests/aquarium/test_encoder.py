"""A clip is written whatever encoders the library was built with."""

import numpy as np
import pytest

from simsoft.aquarium.video import encoder
from simsoft.core.errors import OutputError
from simsoft.validate.studies.film_clip import encode

av = pytest.importorskip("av")


def test_what_is_wanted_and_there_is_taken():
    assert encoder.best_encoder("mpeg4") == "mpeg4"
    assert encoder.best_encoder("no_such_thing") in encoder.ENCODERS


@pytest.mark.parametrize("codec", ["missing", None])
def test_a_clip_without_the_usual_encoder_is_written_all_the_same(tmp_path, monkeypatch, codec):
    monkeypatch.setattr(encoder, "ENCODERS", ("mpeg4",))
    frames = np.zeros((5, 32, 48), dtype=np.uint8)
    path = encode(frames, np.arange(5) / 120.0, tmp_path / "a.mp4", codec=codec)
    with av.open(str(path)) as clip:
        assert clip.streams.video[0].codec_context.name == "mpeg4"


def test_none_at_all_is_one_line(monkeypatch):
    monkeypatch.setattr(encoder, "ENCODERS", ("missing",))
    with pytest.raises(OutputError, match="no video encoder"):
        encoder.best_encoder()
