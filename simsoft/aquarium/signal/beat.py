"""A tip track -> beat, stroke and left-right bias, each with its uncertainty and its doubts."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from simsoft.aquarium.files.track import Track
from simsoft.aquarium.measured import Flag, Measured, lacking
from simsoft.aquarium.signal.alias import FASTEST, resolve_alias
from simsoft.aquarium.signal.sine import Periodic, fit, scan, too_long
from simsoft.aquarium.signal.wander import Wander, wander_of
from simsoft.core.arrays import Array
from simsoft.core.signals import main_direction

SLOWEST_BEATS = 1.5  # beats in the clip, the slowest searched
NYQUIST_SHARE = 0.98
UNEVEN = 0.05  # of the frame spacing, its scatter from which images can be told apart
LEAST_SHARE = 0.2  # of the variance a beat must explain
CHANCE = 5.0  # times ln(frequencies)/rows, what noise alone explains at its best frequency
FEW_BEATS, TOO_FEW_BEATS = 5.0, 3.0
DRIFTED = 0.5  # of the stroke
ODD_SHARE, ODD_CLEAR = 0.05, 4.0
ALTERNATING = 0.25  # of the power at half the main rate: then that is the beat
CLOCK_SHARE = 1e-3  # frame clock of a phone (common practice, no source)
VIEW_SHARE = 0.015  # view 10 degrees off square
STARTED = 0.7  # of the median stroke; beats before it are start-up
UNSTEADY = 0.05  # scatter of the periods from which a beat is said to wander
LARGEST_STROKE = 0.5  # [m], no tail sweeps more
FRAMES = (5.0, 20_000.0)  # [Hz], slower and faster is no film of a tail
FULL_WINDOW = 0.6  # share of the expected rows a beat must have
ROWS_A_WEIGHT = 3.0  # of a beat's own wave; with fewer its noise widens the peak to peak
SWEEP = "least-squares sine and harmonics"


@dataclass(frozen=True)
class TrackBeat:
    """What the periodic part of a track looks like.

    Attributes
    ----------
    motion : Periodic, along the main direction
    strokes : array (B,) [m], beat by beat
    wander : Wander or None, of the phase from beat to beat; None where there are too few beats
    local_noise : float [m], about every beat's own wave
    direction : array (2,), main direction of the motion in the image
    rate : float [Hz], frames per second
    share : float, of the variance that the motion explains
    """

    motion: Periodic
    strokes: Array
    wander: Wander | None
    local_noise: float
    direction: Array
    rate: float
    share: float

    @property
    def frequency(self) -> tuple[float, float]:
        """Mean rate [Hz] and its standard uncertainty; 2 u holds 95 %.

        Where the phase can be followed from beat to beat, noise counts as it stands about single
        beats and everything slower as wander; else the residual of the one sine is all there is.
        """
        rate, u = self.motion.frequency, self.motion.u
        if self.wander is None:
            return rate, u
        white = u / math.sqrt(self.motion.correlation)
        white *= min(1.0, self.local_noise / self.motion.noise) if self.motion.noise > 0.0 else 1.0
        turn = rate / (2.0 * math.pi)
        return rate + turn * self.wander.shift, math.hypot(white, turn * self.wander.u)


def measure_beat(track: Track, *, fastest: float = FASTEST) -> list[Measured]:
    """Return beat, stroke and left-right bias of a track.

    Parameters
    ----------
    track : Track
    fastest : float [Hz], the fastest this tail may beat

    Returns
    -------
    list of Measured: ``flap_frequency`` [Hz], ``stroke`` [m, peak to peak], ``left_right_bias``
    [-] and, with a tracked body, ``left_right_offset`` [m]
    """
    time, signal, direction = _signal(track)
    top = _highest(time, fastest)
    slow = SLOWEST_BEATS / float(time[-1] - time[0])
    if slow >= top:
        reason = f"{time[-1] - time[0]:.3g} s are too short for a beat below {top:.3g} Hz"
        reason += "; is the time in another unit?" if 1.0 / np.median(np.diff(time)) > 1e4 else ""
        return [lacking("flap_frequency", "Hz", SWEEP, reason, len(time))]
    long = too_long(len(time), float(time[-1] - time[0]), slow, top)
    if long:
        return [lacking("flap_frequency", "Hz", SWEEP, long, len(time))]
    frequency, share = scan(time, signal, slow, top)
    best = int(np.argmax(share))
    chance = CHANCE * math.log(len(frequency)) / len(time)
    if share[best] < max(LEAST_SHARE, chance):
        reason = f"no beat: the best sine explains {100 * share[best]:.0f} % of the motion"
        return [lacking("flap_frequency", "Hz", SWEEP, reason, len(time))]
    found, flags = resolve_alias(time, signal, float(frequency[best]), fastest)
    found, more = _repetition(time, signal, found, slow)
    beat = _beat(time, signal, found, direction, float(share[best]))
    flags += more + _doubts(track, beat)
    return _results(track, beat, flags)


def _highest(time: Array, fastest: float) -> float:
    """Return the fastest beat [Hz] worth searching: half the frame rate, more for uneven stamps."""
    step = np.diff(time)
    middle = float(np.median(step))
    uneven = float(np.median(np.abs(step - middle))) > UNEVEN * middle
    return fastest if uneven else min(fastest, NYQUIST_SHARE * 0.5 / middle)


def _signal(track: Track) -> tuple[Array, Array, Array]:
    """Return times, the motion along its main direction, and that direction."""
    centred = track.tip - np.median(track.tip, axis=0)
    if not np.ptp(centred[:, 1]) > 0.0:
        return track.time, centred[:, 0], np.array([1.0, 0.0])
    direction = main_direction(centred)
    return track.time, centred @ direction, direction


def _repetition(
    time: Array, signal: Array, frequency: float, slow: float
) -> tuple[float, list[Flag]]:
    """Return the rate at which the motion repeats: the main one, or half of it.

    Every second stroke being different shows as power at half the main rate.
    """
    if 0.5 * frequency < slow or 0.5 * frequency * (time[-1] - time[0]) < TOO_FEW_BEATS:
        return frequency, []
    rate = 1.0 / float(np.median(np.diff(time)))
    if rate < 2.5 * frequency or len(time) < 24:
        return frequency, []
    half = fit(time, signal, 0.5 * frequency, harmonics=2)
    clear = ODD_CLEAR * half.noise * math.sqrt(2.0 * half.correlation / half.rows)
    odd = float(half.amplitude[0])
    power = odd**2 / max(float((half.amplitude**2).sum()), 1e-300)
    if power < ODD_SHARE or odd < clear:
        return frequency, []
    text = (
        f"every second stroke differs ({100 * power:.0f} % of the power at half the rate); "
        "check on the overlay which of the two rates is the beat"
    )
    return (half.frequency if power > ALTERNATING else frequency), [Flag("double-beat", text)]


def _beat(
    time: Array, signal: Array, frequency: float, direction: Array, share: float
) -> TrackBeat:
    """Fit the whole track, leave the start-up out, and look at every beat."""
    motion = fit(time, signal, frequency)
    strokes, phases, starts, noise = _each_beat(time, signal, motion)
    if len(strokes) >= 4:
        running = strokes >= STARTED * np.median(strokes)
        first = int(np.argmax(running))
        if 0 < first <= len(strokes) - 3:
            kept = time >= starts[first]
            time, signal = time[kept], signal[kept]
            motion = fit(time, signal, motion.frequency)
            strokes, phases, starts, noise = _each_beat(time, signal, motion)
    per_beat = max(1.0, len(time) / max(1, len(phases)))
    of_phase = noise * math.sqrt(2.0 / per_beat) / max(float(motion.amplitude[0]), 1e-300)
    return TrackBeat(
        motion=motion,
        strokes=strokes,
        wander=wander_of(phases, of_phase),
        local_noise=noise,
        direction=direction,
        rate=1.0 / float(np.median(np.diff(time))),
        share=share,
    )


def _each_beat(time: Array, signal: Array, motion: Periodic) -> tuple[Array, Array, Array, float]:
    """Return stroke, phase [rad] against the whole fit and start [s] of every full beat.

    The last value is the noise [m] about single beats.
    """
    period = 1.0 / motion.frequency
    harmonics = len(motion.cosine)
    per_beat = period / float(np.median(np.diff(time)))
    if per_beat < ROWS_A_WEIGHT * (2 * harmonics + 1):
        harmonics = 1
    strokes, phases, starts, noises = [], [], [], []
    begin = float(time[0])
    turn = np.linspace(0.0, 2.0 * math.pi, 181)
    while begin + period <= time[-1] + 1e-9:
        inside = (time >= begin) & (time < begin + period)
        rows = int(inside.sum())
        if rows >= max(2 * harmonics + 2, FULL_WINDOW * per_beat):
            angle = 2.0 * math.pi * motion.frequency * (time[inside] - motion.time0)
            columns = [np.ones(rows)]
            for k in range(1, harmonics + 1):
                columns += [np.cos(k * angle), np.sin(k * angle)]
            model = np.column_stack(columns)
            found = np.linalg.lstsq(model, signal[inside], rcond=None)[0]
            left = signal[inside] - model @ found
            noises.append(float(left @ left) / max(1, rows - model.shape[1]))
            local = complex(found[1], -found[2])
            whole = complex(motion.cosine[0], -motion.sine[0])
            if harmonics < len(motion.cosine):
                # Too few frames a beat for its own harmonics: the whole run's wave, scaled.
                strokes.append(motion.stroke() * abs(local) / abs(whole))
            else:
                strokes.append(_peak_to_peak(np.asarray(found[1:], dtype=np.float64), turn))
            phases.append(float(np.angle(local * whole.conjugate())))
            starts.append(begin)
        begin += period
    noise = math.sqrt(float(np.median(noises))) if noises else motion.noise
    return np.array(strokes), np.unwrap(np.array(phases)), np.array(starts), noise


def _peak_to_peak(weights: Array, turn: Array) -> float:
    """Return the peak to peak of cosine and sine weights (2 K,) over one turn."""
    wave = np.zeros_like(turn)
    for k in range(1, len(weights) // 2 + 1):
        wave += weights[2 * k - 2] * np.cos(k * turn) + weights[2 * k - 1] * np.sin(k * turn)
    return float(np.ptp(wave))


def _doubts(track: Track, beat: TrackBeat) -> list[Flag]:
    """Return what view, length and steadiness of the track leave in doubt."""
    flags: list[Flag] = []
    duration = 2.0 * beat.motion.half
    beats = beat.motion.frequency * duration
    if beats < FEW_BEATS:
        flags.append(
            Flag(
                "few-beats",
                f"{beats:.1f} beats; a run of {FEW_BEATS / beat.motion.frequency:.2g} s or more "
                "is better",
                severe=beats < TOO_FEW_BEATS,
            )
        )
    stroke = beat.motion.stroke()
    if track.scaled and stroke > LARGEST_STROKE:
        flags.append(Flag("units", f"a stroke of {stroke:.3g} m; are the columns in another unit?"))
    if not FRAMES[0] <= beat.rate <= FRAMES[1]:
        text = f"{beat.rate:.3g} frames a second; is the time in another unit?"
        flags.append(Flag("units", text))
    if abs(2.0 * beat.motion.drift[1]) > DRIFTED * stroke:
        flags.append(
            Flag("drift", "the lure drifted across the view; track a point of the body too", False)
        )
    if beat.wander is not None and beat.wander.scatter > UNSTEADY:
        share = 100.0 * beat.wander.scatter
        flags.append(Flag("wanders", f"the beat wanders: periods scatter by {share:.0f} %", False))
    if track.dropped > 0.1 * (track.dropped + len(track.time)):
        flags.append(
            Flag("gaps", f"{track.dropped} rows have no tip; light and contrast help", False)
        )
    if not track.view:
        flags.append(
            Flag(
                "view",
                "the view was not said (below, above, mirror, rear, side); from the side a "
                "sideways beat shows twice",
            )
        )
    elif (
        track.view != "side"
        and track.axis is not None
        and track.sweep == "sideways"
        and abs(float(beat.direction @ track.axis)) > math.sqrt(0.5)
    ):
        flags.append(
            Flag(
                "along",
                "the tip moves along the tail, not across: foreshortening, which repeats "
                "twice a beat; film from below or above",
            )
        )
    return flags


def _results(track: Track, beat: TrackBeat, flags: list[Flag]) -> list[Measured]:
    motion = beat.motion
    halve = track.view == "side" and track.sweep == "sideways"
    (frequency, u), method = beat.frequency, SWEEP
    u = math.hypot(u, CLOCK_SHARE * frequency)
    if halve:
        frequency, u = 0.5 * frequency, 0.5 * u
        method += ", halved: from the side a sideways beat shows twice"
        flags = [*flags, Flag("halved", "the rate seen from the side was halved", severe=False)]
    at = dict(track.at)
    if track.view:
        at["view"] = track.view
    beats = max(1, int(motion.frequency * 2.0 * motion.half))
    common = {"at": at, "flags": tuple(flags), "run": str(at.get("run_id", track.name))}
    result = [Measured("flap_frequency", frequency, u, "Hz", method, beats, **common)]  # type: ignore[arg-type]
    if halve:
        reason = "from the side the sweep is foreshortened; film from below or above"
        return [*result, lacking("stroke", "m", SWEEP, reason, beats)]
    stroke, u_stroke = _stroke(track, beat)
    method = f"{SWEEP}, median of {len(beat.strokes) or 1} beats"
    result.append(Measured("stroke", stroke, u_stroke, "m", method, beats, **common))  # type: ignore[arg-type]
    result.append(_bias(track, beat, beats, common))
    if track.axis is not None:
        across = np.array([-track.axis[1], track.axis[0]])
        sway = track.tip @ across
        result.append(
            Measured(
                "left_right_offset",
                float(np.median(sway)),
                float(np.std(sway) / math.sqrt(max(1, beats))),
                "m",
                "median of the tip across the axis from body to mean tip",
                beats,
                **common,  # type: ignore[arg-type]
            )
        )
    return result


def _stroke(track: Track, beat: TrackBeat) -> tuple[float, float]:
    """Return the stroke [m] and its standard uncertainty.

    Scatter of the beats (1.2533 for a median of normal scatter, 1.4826 x MAD for its size),
    scale, view, and an open shutter's smear, which takes at most 1 - sinc(f/rate).
    """
    strokes = beat.strokes if len(beat.strokes) else np.array([beat.motion.stroke()])
    middle = float(np.median(strokes))
    spread = 1.4826 * float(np.median(np.abs(strokes - middle)))
    fitted = beat.motion.noise * math.sqrt(8.0 * beat.motion.correlation / beat.motion.rows)
    smear = (1.0 - float(np.sinc(beat.motion.frequency / beat.rate))) / math.sqrt(3.0)
    shares = math.hypot(track.scale_share, VIEW_SHARE, smear)
    u = math.hypot(1.2533 * spread / math.sqrt(len(strokes)), fitted, shares * middle)
    return middle, u


def _bias(track: Track, beat: TrackBeat, beats: int, common: dict) -> Measured:
    """Return how far the wave leans to one side: (highest + lowest)/stroke about its mean."""
    motion = beat.motion
    wave = motion.wave(motion.time0 + np.linspace(0.0, 1.0 / motion.frequency, 361))
    stroke = float(np.ptp(wave))
    value = float(wave.max() + wave.min()) / stroke
    u = motion.noise * math.sqrt(8.0 * motion.correlation / motion.rows) / stroke
    method = "highest plus lowest over stroke, about the mean, of the fitted beat"
    return Measured("left_right_bias", value, u, "", method, beats, **common)
