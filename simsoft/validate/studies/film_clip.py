"""Clips of tails drawn from the solver's own motion, with a tank's nuisances: known truth."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt
from scipy.spatial import ConvexHull

from simsoft.aquarium.video.encoder import best_encoder
from simsoft.core.arrays import Array
from simsoft.results.result import Trace
from simsoft.validate.studies.film_ends import StiffPaddle

Frames = npt.NDArray[np.uint8]

SMOOTHING = 3  # drawn so many times larger than filmed
SUBFRAMES = 5  # exposures averaged into a blurred frame
TICK = 90_000  # time base of the encoded stamps
MPEG4_TICK = 60_000  # parts of a second that MPEG-4 part 2 can count, at most 65535


@dataclass(frozen=True)
class ClipMotion:
    """One cycle of a tail's centreline, and what hangs at its end.

    Attributes
    ----------
    frequency : float [Hz]
    shapes : array (K, nodes, 3) [m], equally spaced over one cycle, the first not repeated
    thickness : float [m]
    plate : float [m], diameter of a paddle square to the centreline's end, 0 for none
    width : float [m], across the plane it beats in; 0 for as thick as it looks from anywhere
    roll : float [rad], of that plane out of the picture seen from below
    paddle : Hung or None, drawn as it hangs instead of a disc about the centreline's end
    """

    frequency: float
    shapes: Array
    thickness: float
    plate: float = 0.0
    width: float = 0.0
    roll: float = 0.0
    paddle: StiffPaddle | None = None

    def at(self, phase: Array) -> Array:
        """Return centrelines (n, nodes, 3) at phases [cycles], by trigonometric interpolation.

        The centre of a paddle that hangs is one more node, after the stem's end.
        """
        nodes = self.shapes
        if self.paddle is not None:
            nodes = np.concatenate([nodes, self.paddle.centre[:, None]], axis=1)
        count = len(nodes)
        spectrum = np.fft.fft(nodes, axis=0) / count
        order = np.fft.fftfreq(count, 1.0 / count)
        turn = np.exp(2j * math.pi * np.outer(phase, order))
        return np.asarray(np.einsum("nk,kij->nij", turn, spectrum).real)

    def turned(self, angle: float) -> ClipMotion:
        """Return the motion turned about the tail's axis by an angle [rad]."""
        turn = np.array([[math.cos(angle), -math.sin(angle)], [math.sin(angle), math.cos(angle)]])
        shapes = self.shapes.copy()
        shapes[..., 1:] = shapes[..., 1:] @ turn.T
        paddle = None if self.paddle is None else self.paddle.turned(turn)
        return dataclasses.replace(self, shapes=shapes, roll=self.roll + angle, paddle=paddle)

    def stroke(self) -> float:
        """Return the peak to peak [m] of the tip, or of a paddle's centre, along its sweep."""
        tip = self.at(np.linspace(0.0, 1.0, 361))[:, -1]
        centred = tip - tip.mean(axis=0)
        axis = np.linalg.svd(centred, full_matrices=False)[2][0]
        return float(np.ptp(centred @ axis))


def clip_motion(
    trace: Trace, frequency: float, thickness: float, plate: float = 0.0, width: float = 0.0
) -> ClipMotion:
    """Return the motion of a march's last cycle; its strobe's first and last frame coincide."""
    return ClipMotion(frequency, np.asarray(trace.strobe[:-1]), thickness, plate, width)


@dataclass(frozen=True)
class Tank:
    """How the clip is filmed and what disturbs it.

    Attributes
    ----------
    rate : float [Hz], frames per second
    seconds : float [s]
    scale : float [m/px]
    width, height : int [px]
    view : 'below' or 'side'
    shutter : float, share of the frame interval the shutter is open
    noise : float [grey levels]
    contrast : float [grey levels]
    glare, bubbles, ripples : float, strength of each, 0 for none, 1 for much
    jitter : float, share of the frame interval by which stamps scatter
    body : bool, draw the still body ahead of the tail
    seed : int
    """

    rate: float = 120.0
    seconds: float = 2.5
    scale: float = 0.2e-3
    width: int = 320
    height: int = 240
    view: str = "below"
    shutter: float = 0.1
    noise: float = 3.0
    contrast: float = 110.0
    glare: float = 0.0
    bubbles: float = 0.0
    ripples: float = 0.0
    jitter: float = 0.0
    body: bool = True
    seed: int = 0


def stamps(tank: Tank) -> Array:
    """Return the time stamps [s] of the frames, uneven where asked for."""
    rng = np.random.default_rng(tank.seed)
    count = int(tank.rate * tank.seconds)
    step = (1.0 + tank.jitter * rng.uniform(-1.0, 1.0, count)) / tank.rate
    return np.asarray(np.round((np.cumsum(step) - step[0]) * TICK) / TICK)


def render(motion: ClipMotion, tank: Tank) -> tuple[Frames, Array]:
    """Return grey frames (N, H, W) of a tail beating in a tank, and their times [s]."""
    time = stamps(tank)
    rng = np.random.default_rng(tank.seed + 1)
    water = _water(tank)
    bubbles = _bubbles(tank, rng)
    exposure = np.linspace(0.0, tank.shutter / tank.rate, SUBFRAMES if tank.shutter > 0.15 else 1)
    frames = np.empty((len(time), tank.height, tank.width), np.uint8)
    for i, t in enumerate(time):
        lines = motion.at((t + exposure) * motion.frequency)
        lure = np.mean([_drawn(line, motion, tank, float(t)) for line in lines], axis=0)
        picture = water - tank.contrast * lure
        if tank.ripples:
            picture = picture + 14.0 * tank.ripples * _caustics(tank, float(t))
        if tank.bubbles:
            picture = picture + 60.0 * _bubble_picture(bubbles, tank, float(t))
        if tank.glare:
            picture = picture + 90.0 * tank.glare * _glare(tank, float(t))
        picture = picture + tank.noise * rng.normal(size=picture.shape)
        frames[i] = np.clip(picture, 0.0, 255.0).astype(np.uint8)
    return frames, time


def _water(tank: Tank) -> Array:
    y, x = np.mgrid[0 : tank.height, 0 : tank.width]
    return np.asarray(185.0 + 15.0 * x / tank.width - 10.0 * (y / tank.height - 0.4) ** 2)


def _drawn(line: Array, motion: ClipMotion, tank: Tank, time: float) -> Array:
    """Return the tail's cover (H, W), 0 to 1, of one exposure."""
    from PIL import Image, ImageDraw

    across = 1 if tank.view == "below" else 2
    centre = line[-1]
    if motion.paddle is not None:
        line = line[:-1]
    factor = SMOOTHING / tank.scale
    x = (0.3 * tank.width * SMOOTHING) + line[:, 0] * factor
    y = 0.5 * tank.height * SMOOTHING - line[:, across] * factor
    if tank.ripples:
        y = y + SMOOTHING * tank.ripples * np.sin(2.0 * math.pi * (0.7 * time + x / 400.0))
    picture = Image.new("L", (tank.width * SMOOTHING, tank.height * SMOOTHING), 0)
    pen = ImageDraw.Draw(picture)
    wide, half = _section(motion, tank, factor)
    for side in (-half, half):
        points = list(zip(x.tolist(), (y + side).tolist(), strict=True))
        pen.line(points, fill=255, width=wide, joint="curve")
    if half > 0.0:
        edge = np.concatenate([y - half, (y + half)[::-1]])
        both = np.concatenate([x, x[::-1]])
        pen.polygon(list(zip(both.tolist(), edge.tolist(), strict=True)), fill=255)
    if motion.plate > 0.0:
        heading = (line[-1] - line[-2]) * np.array([1.0, -1.0, -1.0])
        heading = heading[[0, across, 3 - across]] / max(float(np.linalg.norm(heading)), 1e-12)
        disc = _disc(heading, motion.plate * factor, motion.thickness * factor)
        pen.polygon([(x[-1] + c, y[-1] + r) for c, r in disc.tolist()], fill=255)
    if motion.paddle is not None:
        seen = motion.paddle.outline(line[-1], line[-1] - line[-2], centre, across)
        pen.polygon([(x[-1] + c, y[-1] + r) for c, r in (factor * seen).tolist()], fill=255)
    if tank.body:
        middle, high = 0.5 * tank.height * SMOOTHING, 6.0e-3 * factor
        pen.ellipse(
            [x[0] - 45e-3 * factor, middle - high, x[0] + 1.5e-3 * factor, middle + high], fill=255
        )
    small = picture.resize((tank.width, tank.height), Image.Resampling.BOX)
    return np.asarray(small, dtype=float) / 255.0


def _section(motion: ClipMotion, tank: Tank, factor: float) -> tuple[int, float]:
    """Return the pen's width and how far the broad side reaches to either side [px]."""
    if motion.width == 0.0:
        return max(2, round(motion.thickness * factor)), 0.0
    edge, face = abs(math.cos(motion.roll)), abs(math.sin(motion.roll))
    if tank.view != "below":
        edge, face = face, edge
    return max(2, round(motion.thickness * edge * factor)), 0.5 * motion.width * face * factor


def _disc(normal: Array, diameter: float, thickness: float) -> Array:
    """Return the outline (n, 2) of a thick disc: its two faces' ellipses and what joins them.

    Parameters
    ----------
    normal : array (3,), unit, along columns, along rows, towards the camera
    diameter, thickness : float [px]
    """
    turn = np.linspace(0.0, 2.0 * math.pi, 48, endpoint=False)
    seen = float(np.hypot(normal[0], normal[1]))
    along = np.array([1.0, 0.0]) if seen < 1e-9 else normal[:2] / seen
    rim = 0.5 * diameter * (
        np.outer(np.cos(turn), abs(normal[2]) * along)
        + np.outer(np.sin(turn), [-along[1], along[0]])
    )  # fmt: skip
    faces = np.concatenate([rim - 0.5 * thickness * normal[:2], rim + 0.5 * thickness * normal[:2]])
    return np.asarray(faces[ConvexHull(faces).vertices])


def _caustics(tank: Tank, time: float) -> Array:
    y, x = np.mgrid[0 : tank.height, 0 : tank.width]
    return np.asarray(
        np.sin(x / 23.0 + 5.0 * time) * np.sin(y / 31.0 - 3.1 * time)
        + 0.6 * np.sin((x + y) / 17.0 + 7.3 * time)
    )


def _bubbles(tank: Tank, rng: np.random.Generator) -> Array:
    """Return column, phase, radius [px] and rise [px/s] of bubbles."""
    count = int(25 * tank.bubbles)
    return np.column_stack(
        [
            rng.uniform(0, tank.width, count),
            rng.uniform(0, tank.height, count),
            rng.uniform(1.5, 4.0, count),
            rng.uniform(80.0, 200.0, count),
        ]
    )


def _bubble_picture(bubbles: Array, tank: Tank, time: float) -> Array:
    picture = np.zeros((tank.height, tank.width))
    for column, phase, radius, rise in bubbles:
        row = tank.height - (phase + rise * time) % tank.height
        middle = column + 3.0 * math.sin(4.0 * time + phase)
        top, left = max(0, int(row - radius) - 1), max(0, int(middle - radius) - 1)
        window = picture[top : int(row + radius) + 2, left : int(middle + radius) + 2]
        y, x = np.indices(window.shape)
        window += np.clip(radius - np.hypot(x + left - middle, y + top - row), 0.0, 1.0)
    return picture


def _glare(tank: Tank, time: float) -> Array:
    y, x = np.mgrid[0 : tank.height, 0 : tank.width]
    column = tank.width * (0.6 + 0.1 * math.sin(1.3 * time))
    row = tank.height * (0.3 + 0.05 * math.sin(2.1 * time))
    return np.asarray(np.exp(-(((x - column) / 35.0) ** 2) - ((y - row) / 22.0) ** 2))


def encode(
    frames: Frames | Sequence[Frames],
    time: Array,
    path: str | Path,
    *,
    codec: str | None = None,
    rate: int = 120,
) -> Path:
    """Write frames with their own time stamps as a video file; return its path.

    Parameters
    ----------
    frames : array (N, H, W), or sequence of N arrays (H, W), of uint8
    time : array (N,) [s]
    path : path, its suffix chooses the container
    codec : str or None, taken where it is there; else the best that is
    rate : int, nominal rate written into the file
    """
    import av

    encoder = best_encoder(codec)
    with av.open(str(path), "w") as container:
        stream: Any = container.add_stream(encoder, rate=rate)
        stream.height, stream.width = frames[0].shape
        stream.pix_fmt = "yuv420p"
        if encoder == "libx264":
            # one thread: with more the same pictures give files that differ
            stream.options = {"crf": "18", "preset": "veryfast", "threads": "1"}
        variable = Path(path).suffix.lower() != ".avi"
        tick = MPEG4_TICK if encoder == "mpeg4" else TICK
        if variable:
            stream.codec_context.time_base = Fraction(1, tick)
        for i, picture in enumerate(frames):
            frame = av.VideoFrame.from_ndarray(np.ascontiguousarray(picture), format="gray")
            frame.pts = round(time[i] * tick) if variable else i
            frame.time_base = Fraction(1, tick) if variable else Fraction(1, rate)
            for packet in stream.encode(frame):
                container.mux(packet)
        for packet in stream.encode():
            container.mux(packet)
    return Path(path)
