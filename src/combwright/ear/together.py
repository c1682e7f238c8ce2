"""Two or three reeds at once: each one's own pitch, how sure that is, and how they beat.

Of a second of sound all is fitted as one. A longer one is measured in parts of half a second too:
where these agree as well as their noise lets them, or to a third of a cent, one fit of the whole
counts, otherwise the parts' mean; what they scatter more than noise explains is in the error.
"""

import itertools
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from combwright.ear.beats import Beat, beat
from combwright.ear.believing import NoReeds, reeds_in
from combwright.ear.growing import few, grown
from combwright.ear.readings import LONGEST_S
from combwright.ear.several import Joint
from combwright.ear.sound import Samples, Sound
from combwright.ear.threads import one_thread

MOST_REEDS: Final = 3
#: Less sound than this does not part two reeds in unison.
SHORTEST_S: Final = 0.2
_PIECE_S, _PART_S = 1.0, 0.5
_FEWEST_PARTS: Final = 3
_CLICK: Final = 6.0
#: How far a breath may carry all reeds together from one part to another.
_SHIFT_CENTS: Final = 8.0
#: Parts that agree this well may be fitted as one.
_AGREEING_CENTS: Final = 0.3
_LEAST_SNR_DB: Final = 3.0
_MOST_SWAY_CENTS: Final = 12.0
_UNSURE_CENTS: Final = 5.0
_CENTS: Final = 1200 / np.log(2)


@dataclass(frozen=True, slots=True)
class Voice:
    """One reed of several.

    Parameters
    ----------
    hz, sd_cents : float
        Mean frequency, and its standard error.
    partials : array
        Amplitudes, first to last.
    """

    hz: float
    sd_cents: float
    partials: NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Together:
    """What is heard of several reeds.

    Parameters
    ----------
    voices : tuple of Voice
        From low to high; fewer than were asked for where no more are heard.
    beats : tuple of Beat
        Of each and the next.
    asked : int
        How many were looked for.
    snr_db : float
        Power of all reeds over everything else.
    unsure : bool
        Whether the sound is too poor to trust: an error above 5 cents.
    """

    voices: tuple[Voice, ...]
    beats: tuple[Beat, ...]
    asked: int
    snr_db: float
    unsure: bool


def read_together(sound: Sound, reeds: int, *, near_hz: Sequence[float] = ()) -> Together:
    """Measure two or three reeds that sound all through a sound.

    Parameters
    ----------
    sound : Sound
        From 0.2 s on, best half a second or more; of more than 3 s the middle is taken.
    reeds : int
        How many are looked for.
    near_hz : sequence of float, of length `reeds`, or empty
        Where each is expected, to half a semitone; anywhere without.

    Raises
    ------
    NoReeds
        If nothing steady sounds.
    """
    if sound.seconds < SHORTEST_S:
        raise NoReeds(
            f"the sound lasts {1000 * sound.seconds:.0f} ms, {1000 * SHORTEST_S:.0f} need"
        )
    sound = _middle(sound, LONGEST_S)
    piece = _middle(sound, _PIECE_S)
    with one_thread():
        x = piece.samples - piece.samples.mean()
        joint, hums = reeds_in(x, piece.rate, reeds, sorted(near_hz))
        _check(joint)
        hz, covariance = joint.hz, joint.covariance
        if sound.seconds > piece.seconds:
            hz, covariance = _over_time(sound, joint, hums)
    return _said(hz, covariance, joint, reeds)


def _middle(sound: Sound, seconds: float) -> Sound:
    spare = max(0.0, sound.seconds - seconds) / 2
    return sound.part(spare, sound.seconds - spare) if spare else sound


def _check(joint: Joint) -> None:
    """Refuse what no reeds sound like."""
    snr = _snr_db(joint)
    sway = _CENTS * float(
        np.sqrt(np.sum(joint.motion.sway**2 / (2 * np.arange(1, len(joint.motion.sway) + 1) + 1)))
    )
    if snr < _LEAST_SNR_DB or sway > _MOST_SWAY_CENTS:
        raise NoReeds(f"what there is strays by {sway:.0f} cents, {snr:.0f} dB over the rest")


def _over_time(sound: Sound, joint: Joint, hums: tuple[float, ...]) -> tuple[Samples, Samples]:
    """Return frequencies and their covariance from a sound of more than a second."""
    x, rate = sound.samples - sound.samples.mean(), sound.rate
    count = max(_FEWEST_PARTS, round(sound.seconds / _PART_S))
    edges = np.linspace(0, len(x), count + 1).astype(int)
    fits = [_part(x[a:b], rate, joint, hums) for a, b in itertools.pairwise(edges)]
    usual = float(np.median([fit.residual for fit in fits]))
    good = [fit for fit in fits if fit.residual <= _CLICK * usual]
    parts = np.array([fit.hz for fit in good])
    mean, scatter = parts.mean(axis=0), np.atleast_2d(np.cov(parts.T, ddof=1))
    noise = np.mean([fit.covariance for fit in good], axis=0)
    lucky = 1 + 1.5 / np.sqrt(max(1, len(good) - 1))
    spread, least = np.sqrt(np.diag(scatter)), np.sqrt(np.diag(noise))
    restless = bool(np.any(spread > lucky * least))
    agree = np.all(spread < np.maximum(_AGREEING_CENTS / _CENTS * mean, lucky * least))
    if agree and len(good) == len(fits):
        whole = grown(x, rate, mean, first=2, hums=hums)
        if np.all(np.abs(whole.hz - mean) < 3 * np.maximum(spread, least)):
            excess = 2 * scatter / len(good) if restless else 0 * scatter
            return whole.hz, whole.covariance + excess
    return mean, (scatter if restless else np.maximum(scatter, noise)) * 1.5 / len(good)


def _part(x: Samples, rate: int, joint: Joint, hums: tuple[float, ...]) -> Joint:
    """Fit a part, in which all reeds may be some cents off together."""
    shifts = np.exp2(np.arange(-_SHIFT_CENTS, _SHIFT_CENTS + 1, 2.0) / 1200)
    tried = [few(x, rate, joint.hz * shift, partials=2, steps=3) for shift in shifts]
    near = min(tried, key=lambda fit: fit.residual)
    return grown(x, rate, near.hz, motion=near.motion, first=4, hums=hums)


def _snr_db(joint: Joint) -> float:
    return float(10 * np.log10(max(joint.power / max(joint.residual, 1e-30) - 1, 1e-20)))


def _said(hz: Samples, covariance: Samples, joint: Joint, asked: int) -> Together:
    order = np.argsort(hz)
    hz, covariance = hz[order], covariance[np.ix_(order, order)]
    sd = np.maximum(_CENTS * np.sqrt(np.diag(covariance)) / hz, 1e-5)
    voices = tuple(
        Voice(float(hz[n]), float(sd[n]), joint.amplitudes[k]) for n, k in enumerate(order)
    )
    beats = tuple(
        beat((hz[n], hz[n + 1]), covariance[n : n + 2, n : n + 2]) for n in range(len(hz) - 1)
    )
    return Together(voices, beats, asked, _snr_db(joint), bool(sd.max() > _UNSURE_CENTS))
