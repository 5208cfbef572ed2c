"""Video clips, and seeded ways to spoil their bytes and their pictures."""

from __future__ import annotations

import json
import math
import random
import tempfile
from functools import lru_cache
from pathlib import Path

import numpy as np
import outcomes

from simsoft.aquarium.files.read import Options
from simsoft.cli.film import ClipOptions, measure_clip, write_pictures
from simsoft.report.text.tank import measured_json, measured_page
from simsoft.validate.studies.film_clip import Frames, encode

RATE, WIDTH, HEIGHT = 60, 96, 72
PLAIN = {".mp4": "libx264", ".avi": "mpeg4", ".mkv": "libx264", ".mov": "libx264"}
TEXTS = (
    b"", b"t_s,x_mm\n0,1\n", b"\x89PNG\r\n\x1a\n", b"#EXTM3U\n#EXTINF:1,\nclean.mp4\n",
    b"ffconcat version 1.0\nfile clean.mp4\n", b"v=0\nm=video 9 RTP/AVP 96\n", b"\x00" * 4096,
    b"RIFF\xff\xff\xff\xffAVI LIST", b"\x00\x00\x00\x18ftypmp42" + b"\x00" * 16,
)  # fmt: skip
NUMBERS = (0, 1, 2, 0x7FFFFFFF, 0x80000000, 0xFFFFFFFF, 0xFFFF, 0x10000, 65521)


def _pictures(count: int, how: str, rng: np.random.Generator) -> Frames:
    """Return grey frames of a beating line, or of what is none."""
    y, x = np.mgrid[0:HEIGHT, 0:WIDTH]
    frames = np.empty((count, HEIGHT, WIDTH), np.uint8)
    for i in range(count):
        along = np.clip((x - 25) / 45.0, 0.0, 1.0)
        side = 36.0 + 14.0 * along**2 * math.sin(2.0 * math.pi * 5.0 * i / RATE)
        lure = (abs(y - side) < 2.0) & (x > 8) & (x < 70)
        frames[i] = np.clip(190.0 - 120.0 * lure + 3.0 * rng.normal(size=y.shape), 0, 255)
    if how == "noise":
        frames = rng.integers(0, 256, frames.shape, dtype=np.uint8)
    elif how == "still":
        frames[:] = frames[0]
    elif how == "black":
        frames[:] = 0
    elif how == "flicker":
        frames[::2] //= 3
    elif how == "shake":
        frames = np.stack([np.roll(f, rng.integers(-9, 9), axis=1) for f in frames])
    return frames


@lru_cache(maxsize=64)
def _clip(suffix: str, how: str, count: int, stamps: str, seed: int) -> bytes:
    rng = np.random.default_rng(seed)
    time = np.arange(count) / RATE
    if stamps == "uneven":
        time = np.cumsum(rng.uniform(0.2, 1.8, count)) / RATE
    elif stamps == "gap":
        time[count // 2 :] += 3600.0
    elif stamps == "dense":
        time = time / 600.0
    with tempfile.TemporaryDirectory() as folder:
        path = encode(
            _pictures(count, how, rng), time, Path(folder) / f"a{suffix}", codec=PLAIN[suffix],
            rate=RATE,
        )  # fmt: skip
        return path.read_bytes()


def mutated(seed: int) -> bytes:
    """Return the bytes of a spoilt clip; the same for the same seed."""
    rng = random.Random(f"clip/{seed}")
    suffix = rng.choice(tuple(PLAIN))
    if rng.randrange(3) == 0:
        how = rng.choice(("noise", "still", "black", "flicker", "shake", "plain"))
        stamps = rng.choice(("even", "uneven", "gap", "dense"))
        return _clip(suffix, how, rng.choice((1, 2, 13, 40)), stamps, rng.randrange(3))
    if rng.randrange(12) == 0:
        return rng.choice(TEXTS)
    data = bytearray(_clip(suffix, "plain", 40, "even", 0))
    for _ in range(rng.choice((1, 1, 2, 4))):
        data = _spoilt(rng, data)
    return bytes(data)


def _spoilt(rng: random.Random, data: bytearray) -> bytearray:
    size = len(data)
    if size < 64:
        return data
    how = rng.randrange(7)
    # the tables of a file stand at its begin or its end
    edges = [*range(min(600, size)), *range(max(0, size - 2500), size)]
    if how == 0:
        for _ in range(rng.choice((1, 3, 30, 300))):
            data[rng.randrange(size)] ^= 1 << rng.randrange(8)
    elif how in (1, 2):
        for _ in range(rng.choice((1, 3, 12))):
            data[rng.choice(edges)] = rng.randrange(256)
    elif how == 3:
        place = min(rng.choice(edges), size - 4)
        order = rng.choice(("big", "little"))
        data[place : place + 4] = rng.choice(NUMBERS).to_bytes(4, order)  # type: ignore[arg-type]
    elif how == 4:
        return data[: rng.randrange(size)]
    elif how == 5:
        begin = rng.randrange(size)
        del data[begin : begin + rng.choice((1, 16, 400, 4000))]
    else:
        begin, length = rng.randrange(size), rng.choice((4, 64, 1024))
        data[begin : begin + length] = rng.choice((bytes(length), bytes(data[:length])))
    return data


def of_clip(path: Path, folder: Path) -> tuple[str, str]:
    """Return what becomes of a clip: measured, pictures, results written and read again."""

    def use() -> str:
        seen = measure_clip(str(path), Options(view="below", scale=5e-4), ClipOptions())
        found = list(seen.measured)
        json.loads(measured_json("0", path.name, found))
        page = measured_page(found)
        if not page.replace("\n", "").isprintable():
            return "unprintable"
        write_pictures(seen, folder, "clip")
        return outcomes.unread(found, folder) or "measured"

    return outcomes.judged(use)
