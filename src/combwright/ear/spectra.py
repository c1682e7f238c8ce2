"""The colour of a note in two instruments: third octaves, with loudness taken out."""

from collections.abc import Sequence
from typing import Final

import numpy as np

from combwright.ear.compared import Spectrum
from combwright.ear.measures import Played
from combwright.ear.sound import Samples

#: A band counts where it comes this near to the note's loudest one, and so far out of the room.
_AUDIBLE_DB: Final = 40.0
_ABOVE_ROOM_DB: Final = 6.0
#: What is fainter counts as this far below the loudest band: a band that one side lacks is finite.
_FAINTEST_DB: Final = 60.0


def spectrum_of(a: Sequence[Played], b: Sequence[Played]) -> Spectrum | None:
    """Return the mean spectra of a note, louder and softer made alike; None of a side too quiet."""
    loud = [[once for once in side if np.isfinite(once.level_lkfs)] for side in (a, b)]
    if not all(loud):
        return None
    bands = [_mean_db([once.bands_db - once.level_lkfs for once in side]) for side in loud]
    rooms = [_mean_db([once.room_db - once.level_lkfs for once in side]) for side in loud]
    heard = np.zeros(len(bands[0]), bool)
    for own, room in zip(bands, rooms, strict=True):
        heard |= (own > own.max() - _AUDIBLE_DB) & (own > room + _ABOVE_ROOM_DB)
    kept = [np.maximum(own, own.max() - _FAINTEST_DB) for own in bands]
    return Spectrum(*(np.where(heard, own, np.nan) for own in kept))


def _mean_db(values: Sequence[Samples]) -> Samples:
    return np.asarray(np.mean(values, axis=0), dtype=np.float64)
