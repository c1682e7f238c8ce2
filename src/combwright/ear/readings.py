"""A reading: how high one reed sounds over a stretch of sound, and how sure that is.

The stretch is measured in short frames, and these are brought together by the turns that the
reed makes from each to the next. What is stated is the mean over the stretch, with its error; by
how much the breath trembled around it is told beside.
"""

from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from combwright.ear.finding import Found, find, sharpen
from combwright.ear.frames import Frames, frames_of, phases_of
from combwright.ear.hums import hums_in
from combwright.ear.sound import BadSound, Samples, Sound
from combwright.ear.threads import one_thread
from combwright.ear.tracks import track_of

LONGEST_S: Final = 3.0
SHORTEST_S: Final = 0.03
#: The window in which a note is looked for.
_LOOK_S: Final = 0.2
#: A tone of which less than this share is left by its own noise is none.
_LEAST_SNR_DB: Final = -6.0
#: A reed under a trembling breath strays by a few cents; a voice by more.
_MOST_SPREAD_CENTS: Final = 12.0
_LEAST_SCORE: Final = 7.0
_UNSURE_CENTS: Final = 5.0
_MISCOUNTED: Final = 6.0


class NoReed(BadSound):
    """A sound with nothing steady enough in it to be a reed."""

    def __init__(self, why: str) -> None:
        super().__init__(
            f"No steady note is heard: {why}. Hold one reed for a second, close to the microphone; "
            "speech and chords give no reading."
        )


@dataclass(frozen=True, slots=True)
class Reading:
    """One reed's pitch.

    Parameters
    ----------
    hz : float
        Mean frequency.
    sd_cents : float
        Standard error of that mean: from what the frames and partials say against one another.
    spread_cents : float
        How far single frames stray beyond their noise: the unsteadiness of breath and reed.
    snr_db : float
        Power of the reed over everything else.
    partials : array
        Amplitudes, first to last.
    unsure : bool
        Whether the note itself, its octave above all, is in doubt.
    """

    hz: float
    sd_cents: float
    spread_cents: float
    snr_db: float
    partials: NDArray[np.float64]
    unsure: bool


def read_reed(sound: Sound, *, near_hz: float | None = None) -> Reading:
    """Measure the one reed that sounds all through a sound.

    Parameters
    ----------
    sound : Sound
        From 30 ms on; of more than 3 s the middle is taken.
    near_hz : float or None
        Where the note is expected, to 5 %.

    Raises
    ------
    NoReed
        If nothing steady sounds.
    """
    sound = _middle(sound, LONGEST_S)
    if sound.seconds < SHORTEST_S:
        raise NoReed(f"the sound lasts {1000 * sound.seconds:.0f} ms, {1000 * SHORTEST_S:.0f} need")
    with one_thread():
        return _read(sound, near_hz)


def _read(sound: Sound, near_hz: float | None) -> Reading:
    x, rate = sound.samples - sound.samples.mean(), sound.rate
    found, hz = _look(x, rate, near_hz)
    frames = frames_of(x, rate, hz, hums_in(x, rate, hz))
    reading = _weighed(frames)
    if reading.snr_db < _LEAST_SNR_DB or reading.spread_cents > _MOST_SPREAD_CENTS:
        raise NoReed(
            f"what there is strays by {reading.spread_cents:.0f} cents, "
            f"{reading.snr_db:.0f} dB over the rest"
        )
    doubtful = found.doubtful and near_hz is None
    return replace(reading, unsure=bool(doubtful or reading.sd_cents >= _UNSURE_CENTS))


def _look(x: Samples, rate: int, near_hz: float | None) -> tuple[Found, float]:
    """Find the note in the middle of a stretch; where a knock hides it there, beside it."""
    size = round(_LOOK_S * rate)
    places = [max(0, (len(x) - size) // 2), 0, max(0, len(x) - size)]
    best: tuple[Found, Samples] | None = None
    for start in dict.fromkeys(places):
        part = x[start : start + size]
        found = find(part, rate, near_hz=near_hz)
        if best is None or found.score > best[0].score:
            best = found, part
        if best[0].score >= 2 * _LEAST_SCORE and not best[0].doubtful:
            break
    if best is None or not best[0].heard(_LEAST_SCORE):
        raise NoReed("noise alone is found")
    found, part = best
    return found, sharpen(part, rate, found.hz, found.partials + 1, within_cents=12.0)


def _middle(sound: Sound, seconds: float) -> Sound:
    spare = len(sound.samples) - round(seconds * sound.rate)
    if spare <= 0:
        return sound
    return Sound(sound.samples[spare // 2 : len(sound.samples) - (spare - spare // 2)], sound.rate)


def _weighed(frames: Frames) -> Reading:
    """Return the mean over all frames, its error, and how far single ones stray."""
    to_cents = 1200 / np.log(2) / float(np.mean(frames.hz))
    hz, sd = _mean(frames)
    tone = float(np.mean([f.tone for f in frames.fits]))
    left = max(float(np.mean([f.residual for f in frames.fits])), 1e-30)
    many = min(len(f.lines) for f in frames.fits)
    parts = np.mean([f.amplitudes[:many] for f in frames.fits], axis=0)
    return Reading(
        float(hz), float(max(sd * to_cents, 1e-5)), float(_spread(frames) * to_cents),
        float(10 * np.log10(tone / left + 1e-30)), parts, False,
    )  # fmt: skip


def _mean(frames: Frames) -> tuple[float, float]:
    """Return the mean frequency and its error, in hertz."""
    if len(frames.fits) < 2:
        return frames.fits[0].hz, frames.fits[0].sd_hz
    track = track_of(frames, phases_of(frames))
    hz, sd = track.mean / (2 * np.pi), track.sd / (2 * np.pi)
    # Where several reeds beat, turns may be miscounted; then the frames' own pitches must do.
    plain = float(np.mean(frames.hz))
    noise = np.mean([each.sd_hz**2 for each in frames.fits])
    error = float(np.sqrt((_spread(frames) ** 2 + noise) / len(frames.fits)))
    return (hz, sd) if abs(hz - plain) < _MISCOUNTED * error else (plain, error)


def _spread(frames: Frames) -> float:
    """Return by how much single frames stray from a steady glide beyond their noise, in hertz."""
    if len(frames.fits) < 3:
        return 0.0
    left = frames.hz - np.polyval(np.polyfit(frames.at_s, frames.hz, 1), frames.at_s)
    noise = np.mean([each.sd_hz**2 for each in frames.fits])
    return float(np.sqrt(max(0.0, np.sum(left**2) / (len(left) - 2) - noise)))
