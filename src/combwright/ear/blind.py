"""Blind listening: A, B and X, where X is A or B and nobody knows which.

Two excerpts are made as alike as they can be without touching how they sound: equally loud, equally
long, begun at the onset. Whoever then tells which of them X is, more often than guessing would,
hears a difference. Each answer is right by chance with probability one half, so chances are sums of
the binomial distribution, exact.

Source: docs/sources.md, [bs1770], [iso-10399].
"""

from math import comb
from typing import Final, NamedTuple

import numpy as np
from scipy.special import bdtrc

from combwright.ear.loudness import loudness
from combwright.ear.rates import at_rate
from combwright.ear.sound import BadSound, Samples, Sound
from combwright.ear.stretches import stretches

#: As loud as broadcasts are; less where a peak would come nearer to full scale than `PEAK_DB`.
TARGET_LKFS: Final = -23.0
PEAK_DB: Final = -1.0
FADE_S: Final = 0.005
LONGEST_S: Final = 4.0
_SHORTEST_S: Final = 0.1
_BEFORE_S: Final = 0.01
ALPHA: Final = 0.05
MOST_TRIALS: Final = 10_000


class BadTrial(BadSound):
    """Trials that cannot have been: more right answers than questions, or no question."""


class Excerpts(NamedTuple):
    """Two excerpts to be listened to.

    Parameters
    ----------
    a, b : array, shape (n,)
        Of one length, full scale 1, at the lower of the two sounds' rates.
    gain_db : float
        By how much B was raised over A, below 0 lowered, to make them equally loud.
    """

    a: Samples
    b: Samples
    gain_db: float


def excerpts(a: Sound, b: Sound, *, longest_s: float = LONGEST_S) -> Excerpts:
    """Cut and level two sounds for a blind comparison.

    Parameters
    ----------
    a, b : Sound
        The same note, or the same tune, of two instruments: parts of recordings, with or without
        silence around them. Their rates may differ.
    longest_s : float
        What lasts longer is cut.

    Returns
    -------
    Excerpts
        Both begin 10 ms before their onset and last as long as the shorter sounds, with fades of
        5 ms. Their gated loudness [bs1770] is the same, -23 LKFS, or less where a peak would pass
        -1 dB of full scale.

    Raises
    ------
    BadSound
        If one of them is silent, below -70 LKFS, or sounds for less than a tenth of a second.
    """
    rate = min(a.rate, b.rate)
    parts = [_sounding(at_rate(each, rate)) for each in (a, b)]
    size = min(len(parts[0]), len(parts[1]), round(longest_s * rate))
    if size < _SHORTEST_S * rate:
        raise BadSound(
            f"One of the sounds lasts {1000 * size / rate:.0f} ms; nothing can be told by ear "
            f"from less than {1000 * _SHORTEST_S:.0f} ms."
        )
    parts = [_faded(part[:size], rate) for part in parts]
    loud = [loudness(Sound(part, rate)) for part in parts]
    if not np.isfinite(loud).all():
        raise BadSound("One of the sounds is too quiet to be levelled: below -70 LKFS.")
    peaks = [20 * np.log10(np.abs(part).max()) for part in parts]
    target = min(TARGET_LKFS, *(PEAK_DB - p + is_ for p, is_ in zip(peaks, loud, strict=True)))
    first, second = (
        part * 10 ** ((target - is_) / 20) for part, is_ in zip(parts, loud, strict=True)
    )
    return Excerpts(first, second, loud[0] - loud[1])


def _sounding(sound: Sound) -> Samples:
    """Return what lies between the first onset and the last end."""
    found = stretches(sound)
    if not found:
        raise BadSound("One of the sounds is silent; choose a part in which something sounds.")
    return sound.part(max(0.0, found[0].start_s - _BEFORE_S), found[-1].end_s).samples


def _faded(samples: Samples, rate: int) -> Samples:
    size = round(FADE_S * rate)
    rise = 0.5 - 0.5 * np.cos(np.pi * (np.arange(size) + 0.5) / size)
    shape = np.ones(len(samples))
    shape[:size] *= rise
    shape[-size:] *= rise[::-1]
    return np.asarray(samples * shape, dtype=np.float64)


def chance_of(right: int, trials: int) -> float:
    """Return the chance that somebody who hears no difference has so many right, or more.

    Raises
    ------
    BadTrial
        If there are not 1 to 10,000 trials, or not 0 to that many right answers.
    """
    _check(right, trials)
    return float(sum(comb(trials, k) for k in range(right, trials + 1)) / 2**trials)


def least_right(trials: int, *, alpha: float = ALPHA) -> int | None:
    """Return how many right answers refute guessing at `alpha`; None where not even all do.

    Raises
    ------
    BadTrial
        If there are not 1 to 10,000 trials.
    """
    _check(0, trials)
    ways, needed = 0, None
    for right in range(trials, trials // 2, -1):
        ways += comb(trials, right)
        if ways / 2**trials > alpha:
            break
        needed = right
    return needed


def power(trials: int, share_right: float, *, alpha: float = ALPHA) -> float:
    """Return the chance that somebody who is right in such a share of trials refutes guessing."""
    needed = least_right(trials, alpha=alpha)
    return 0.0 if needed is None else float(bdtrc(needed - 1, trials, share_right))


def trials_needed(
    share_right: float, *, wanted: float = 0.8, alpha: float = ALPHA, most: int = 200
) -> int | None:
    """Return the least trials after which such a listener refutes guessing in most cases.

    Parameters
    ----------
    share_right : float
        How often the answer is right of somebody who hears the difference sometimes: 0.5 to 1.
    wanted : float
        How often the whole test is to succeed.
    most : int
        Nobody listens longer.

    Returns
    -------
    int or None
        None where more than `most` would be needed.
    """
    for trials in range(1, most + 1):
        if power(trials, share_right, alpha=alpha) >= wanted:
            return trials
    return None


def _check(right: int, trials: int) -> None:
    if not 1 <= trials <= MOST_TRIALS:
        raise BadTrial(f"{trials} trials: a blind test has 1 to {MOST_TRIALS:,} of them.")
    if not 0 <= right <= trials:
        raise BadTrial(f"{right} right answers of {trials} cannot be; at most {trials} are right.")
