"""Files that are no whole clip, made for tests."""

import av
import numpy as np
from drawn import tail

from simsoft.validate.studies.film_clip import Tank, encode, render


def broken(tmp_path, kind, clean):
    """Write a file that is no whole clip."""
    path = tmp_path / f"{kind}.mp4"
    if kind == "empty":
        path.write_bytes(b"")
    elif kind == "text":
        path.write_text("t_s,x_mm\n0,1\n")
    elif kind == "truncated":
        path.write_bytes(clean.read_bytes()[: clean.stat().st_size // 3])
    elif kind == "sound":
        with av.open(str(path), "w") as container:
            stream = container.add_stream("aac", rate=44100)
            frame = av.AudioFrame.from_ndarray(
                np.zeros((1, 1024), np.float32), format="fltp", layout="mono"
            )
            frame.rate = 44100
            for packet in [*stream.encode(frame), *stream.encode()]:
                container.mux(packet)
    elif kind == "short":
        frames, time = render(tail(), Tank(seconds=0.05))
        encode(frames, time, path)
    return path
