"""Hertz, MIDI numbers and cents, for single values and for arrays.

Source: docs/sources.md, [midi-tuning] for the formula, [iso-16] for 440 Hz. Arrays are imported
where they are needed: much else reads this module, and most commands need none.
"""

from typing import TYPE_CHECKING, Final

from combwright.errors import CombwrightError

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import ArrayLike, NDArray

A4_MIDI: Final = 69
STANDARD_A4_HZ: Final = 440.0
LOWEST_A4_HZ: Final = 415.0
HIGHEST_A4_HZ: Final = 466.0
MILLICENTS_PER_SEMITONE: Final = 100_000


class BadPitchStandard(CombwrightError):
    """An A4 that no workshop tunes to."""

    def __init__(self, a4_hz: float) -> None:
        super().__init__(
            f"A4 at {a4_hz:g} Hz is out of range: give {LOWEST_A4_HZ:g} to {HIGHEST_A4_HZ:g} Hz."
        )


def check_a4(a4_hz: float) -> float:
    """Return the pitch standard unchanged when it lies from 415 to 466 Hz.

    Raises
    ------
    BadPitchStandard
        If it lies outside, or is no number.
    """
    if not LOWEST_A4_HZ <= a4_hz <= HIGHEST_A4_HZ:
        raise BadPitchStandard(a4_hz)
    return a4_hz


def hertz(
    midi: "ArrayLike", cents: "ArrayLike" = 0.0, *, a4_hz: float = STANDARD_A4_HZ
) -> "NDArray[np.float64]":
    """Return the frequency of equal-temperament notes moved by cents.

    Parameters
    ----------
    midi, cents : number or array, shape (...)
        MIDI numbers and cents from them; broadcast together.
    a4_hz : float
        Frequency of MIDI note 69.

    Returns
    -------
    array, shape (...)
        Hertz.

    Notes
    -----
    f = a4 x 2^((m - 69)/12 + cents/1200). Source: docs/sources.md, [midi-tuning].
    """
    import numpy as np

    steps = (np.asarray(midi, float) - A4_MIDI) / 12 + np.asarray(cents, float) / 1200
    return np.asarray(a4_hz * np.exp2(steps))


def cents_between(low_hz: "ArrayLike", high_hz: "ArrayLike") -> "NDArray[np.float64]":
    """Return the interval from `low_hz` up to `high_hz` in cents, shape (...).

    Source: docs/sources.md, [ellis]: 1200 log2 of the ratio.
    """
    import numpy as np

    return np.asarray(1200 * np.log2(np.asarray(high_hz, float) / np.asarray(low_hz, float)))


def midi_of(hz: "ArrayLike", *, a4_hz: float = STANDARD_A4_HZ) -> "NDArray[np.float64]":
    """Return frequencies as fractional MIDI numbers, shape (...)."""
    import numpy as np

    return np.asarray(A4_MIDI + cents_between(a4_hz, hz) / 100)


def a4_cents(a4_hz: float) -> float:
    """Return how far a pitch standard lies from A4 = 440 Hz, in cents.

    Raises
    ------
    BadPitchStandard
        If it lies outside 415 to 466 Hz.
    """
    return float(cents_between(STANDARD_A4_HZ, check_a4(a4_hz)))


def millicents(midi: int, cents: float = 0.0) -> int:
    """Return an absolute pitch as whole thousandths of a cent above MIDI note 0 at A4 = 440 Hz."""
    return MILLICENTS_PER_SEMITONE * midi + round(1000 * cents)
