"""A reading: how high one reed sounds over a stretch of sound, and how sure that is.

The stretch is measured in frames. Where the frames agree as well as their noise lets them, or to a
third of a cent, one fit over the whole stretch gives the frequency, as finely as noise allows at
all; otherwise the frames' mean does, since a single fit over a trembling breath goes wrong by more
than it admits. The error stated is that of the frames' own scatter wherever they scatter more
than noise explains.
"""

import itertools
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from combwright.ear.finding import Found, find, sharpen
from combwright.ear.partials import MOST_PARTIALS, Fit, fit
from combwright.ear.sound import BadSound, Samples, Sound
from combwright.ear.threads import one_thread

FRAME_S: Final = 0.1
_FEWEST_FRAMES: Final = 5
#: Periods that a frame must hold.
_PERIODS: Final = 6.0
LONGEST_S: Final = 3.0
SHORTEST_S: Final = 0.03
#: The window in which a note is looked for.
_LOOK_S: Final = 0.2
#: Frames that agree this well may be fitted as one.
AGREEING_CENTS: Final = 0.3
#: A tone of which less than this share is left by its own noise is none.
_LEAST_SNR_DB: Final = -6.0
#: A reed under a trembling breath strays by a few cents; a voice by more.
_MOST_SPREAD_CENTS: Final = 12.0
_LEAST_SCORE: Final = 7.0
_CLICK: Final = 6.0
_MAINS_HZ: Final = (50.0, 60.0)


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
        Standard error, from the scatter of frames where that exceeds the noise.
    spread_cents : float
        How far single frames stray: the unsteadiness of breath and reed.
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
    many = MOST_PARTIALS
    hums = hums_in(x, rate, hz)
    frames = _frames(x, rate, hz, many, hums)
    reading = _weighed(x, rate, frames, many, hums)
    unsure = found.doubtful and near_hz is None
    reading = _marked(reading, unsure)
    if reading.snr_db < _LEAST_SNR_DB or reading.spread_cents > _MOST_SPREAD_CENTS:
        raise NoReed(
            f"what there is strays by {reading.spread_cents:.0f} cents, "
            f"{reading.snr_db:.0f} dB over the rest"
        )
    return reading


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
    if best is None or best[0].score < _LEAST_SCORE:
        raise NoReed("noise alone is found")
    found, part = best
    return found, sharpen(part, rate, found.hz, found.partials + 1, within_cents=12.0)


def _middle(sound: Sound, seconds: float) -> Sound:
    spare = len(sound.samples) - round(seconds * sound.rate)
    if spare <= 0:
        return sound
    return Sound(sound.samples[spare // 2 : len(sound.samples) - (spare - spare // 2)], sound.rate)


def hums_in(x: Samples, rate: int, hz: float) -> tuple[float, ...]:
    """Return the mains frequencies that stand out, except beside a partial of the reed."""
    seconds = len(x) / rate
    if seconds < 0.08:
        return ()
    spectrum = np.abs(np.fft.rfft(x * np.hanning(len(x)), 4 * len(x))) ** 2
    step = rate / (4 * len(x))

    def stands(at: float) -> bool:
        near, far = round(1.5 / seconds / step), round(12 / seconds / step)
        mid = round(at / step)
        around = np.concatenate(
            [spectrum[max(1, mid - far) : mid - 2 * near], spectrum[mid + 2 * near : mid + far]]
        )
        peak = spectrum[max(0, mid - near // 3) : mid + near // 3 + 1].max()
        return bool(len(around) and peak > 20 * np.median(around))

    for mains in _MAINS_HZ:
        lines = [mains * k for k in (1, 2, 3, 4, 5, 6)]
        clear = [f for f in lines if abs(f / hz - max(1, round(f / hz))) * hz > 3 / seconds]
        heard = tuple(f for f in clear if stands(f))
        if mains in heard:
            return heard
    return ()


@dataclass(frozen=True, slots=True)
class _Frames:
    """Fits of equal stretches, one after the other, and which of them are undisturbed."""

    fits: Sequence[Fit]
    good: NDArray[np.bool_]
    edges: NDArray[np.intp]


def _frames(x: Samples, rate: int, hz: float, many: int, hums: tuple[float, ...]) -> _Frames:
    seconds = len(x) / rate
    length = min(FRAME_S, max(seconds / _FEWEST_FRAMES, _PERIODS / hz))
    count = max(1, round(seconds / length))
    edges = np.round(np.linspace(0, len(x), count + 1)).astype(np.intp)
    fits = []
    for a, b in itertools.pairwise(edges):
        part = x[a:b]
        start = sharpen(part, rate, hz, many, within_cents=25.0)
        # Hum cannot be told from the reed in a few of its own periods.
        aside = tuple(
            f for f in hums if abs(f / hz - max(1, round(f / hz))) * hz > 2.5 * rate / (b - a)
        )
        fits.append(fit(part, rate, start, partials=many, hums=aside))
    left = np.array([each.residual for each in fits])
    strayed = np.abs(1200 * np.log2(np.clip([f.hz / hz for f in fits], 0.5, 2)))
    usual = max(float(np.median(left)), 1e-30)
    good = (left < _CLICK * usual) & (strayed < 100)
    return _Frames(fits, good if good.sum() >= 2 else np.ones(count, bool), edges)


def _weighed(x: Samples, rate: int, frames: _Frames, many: int, hums: tuple[float, ...]) -> Reading:
    """Choose between one fit of the whole and the mean of the frames."""
    good = [f for f, fine in zip(frames.fits, frames.good, strict=True) if fine]
    hz = np.array([f.hz for f in good])
    centre = float(np.average(hz))
    to_cents = 1200 / np.log(2) / centre
    cents = (hz - centre) * to_cents
    noise = float(np.sqrt(np.mean([(f.sd_hz * to_cents) ** 2 for f in good])))
    bent = _detrended(cents, frames.good)
    spread = float(np.sqrt(np.sum(bent**2) / max(1, len(bent) - 2))) if len(bent) > 2 else noise
    calm = len(good) < 3 or spread < max(AGREEING_CENTS, noise * _lucky(len(bent)))
    excess = 0.0 if spread <= noise * _lucky(len(bent)) else float(np.sqrt(spread**2 - noise**2))
    if calm:
        whole = _whole(x, rate, frames, good, many, hums)
        off = abs(whole.hz - centre) * to_cents
        if off < 3 * noise / np.sqrt(len(good)) + max(spread, 0.01):
            sd = np.hypot(whole.sd_hz * to_cents, excess * np.sqrt(2 / len(good)))
            return _reading(whole.hz, float(sd), spread, [whole])
    kinship = 1.0
    if len(cents) > 3 and np.any(bent):
        near = float(np.sum(bent[1:] * bent[:-1]) / np.sum(bent**2))
        kinship = float(np.clip((1 + near) / (1 - near), 1.0, 4.0)) if near < 1 else 4.0
    sd = max(spread, noise) * np.sqrt(kinship / len(good))
    return _reading(centre, float(sd), max(spread, noise), good)


def _lucky(frames: int) -> float:
    """Return how much more than its noise the scatter of frames may be by chance, 98 in 100."""
    return 1 + 1.5 / float(np.sqrt(max(1, frames - 2)))


def _detrended(cents: Samples, good: NDArray[np.bool_]) -> Samples:
    if len(cents) < 3:
        return np.asarray(cents - cents.mean(), dtype=np.float64)
    at = np.flatnonzero(good)
    line = np.polyval(np.polyfit(at, cents, 1), at)
    straight: Samples = np.subtract(cents, line, dtype=np.float64)
    return straight


def _whole(
    x: Samples, rate: int, frames: _Frames, good: Sequence[Fit], many: int, hums: tuple[float, ...]
) -> Fit:
    """Fit the whole stretch, growing from what the frames say."""
    kept = None
    if not frames.good.all():
        kept = np.repeat(frames.good, np.diff(frames.edges))
    at = (np.flatnonzero(frames.good) + 0.5) * len(x) / rate / len(frames.good)
    hz = np.array([f.hz for f in good])
    middle, slope = float(np.mean(hz)), 0.0
    if len(good) >= 3:
        weights = [1 / max(f.sd_hz, 1e-9) for f in good]
        line = np.polyfit(at - len(x) / rate / 2, hz, 1, w=weights)
        slope, middle = float(line[0]), float(line[1])
    first = np.sqrt(np.mean([f.sd_hz**2 for f in good]) / len(good)) * 3
    reach = max(1, int(0.5 / max(1e-9, np.pi * first * len(x) / rate)))
    if reach < many:
        strong = int(np.argmax(good[0].amplitudes)) + 1
        step = fit(
            x,
            rate,
            middle,
            slope=slope,
            partials=min(many, max(reach, strong)),
            hums=hums,
            kept=kept,
        )
        middle, slope = step.hz, step.slope
    return fit(x, rate, middle, slope=slope, partials=many, hums=hums, kept=kept)


def _reading(hz: float, sd: float, spread: float, fits: Sequence[Fit]) -> Reading:
    tone = float(np.mean([f.tone for f in fits]))
    left = max(float(np.mean([f.residual for f in fits])), 1e-30)
    many = min(len(f.amplitudes) for f in fits)
    parts = np.mean([f.amplitudes[:many] for f in fits], axis=0)
    return Reading(
        hz, max(sd, 1e-5), spread, float(10 * np.log10(tone / left + 1e-30)), parts, False
    )


def _marked(reading: Reading, unsure: bool) -> Reading:
    sure = not unsure and reading.sd_cents < 5
    return Reading(
        reading.hz,
        reading.sd_cents,
        reading.spread_cents,
        reading.snr_db,
        reading.partials,
        not sure,
    )
