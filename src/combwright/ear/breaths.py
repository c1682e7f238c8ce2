"""Breaths in which no reed sounds: louder than the room, and no note in them."""

from collections.abc import Sequence
from typing import Final

import numpy as np

from combwright.ear.sound import Sound
from combwright.ear.stretches import HOP_S, Stretch, levels

#: A breath stands this far above the room, and lasts as long as a note at least.
_ABOVE_ROOM_DB: Final = 6.0
_SHORTEST_S: Final = 0.25
#: Levels are smoothed over this, and notes keep this distance.
_SMOOTH_S: Final = 0.07
_BESIDE_S: Final = 0.06


def breaths(sound: Sound, notes: Sequence[Stretch]) -> tuple[Stretch, ...]:
    """Return every stretch outside of some notes in which breath alone is heard.

    The room is what the quietest moments between the notes hold; where no moment is quieter than
    the others by far, nothing is a breath.
    """
    level = levels(sound)
    width = round(_SMOOTH_S / HOP_S)
    power = np.convolve(10 ** (level / 10), np.ones(width) / width, mode="same")
    at = np.arange(len(level)) * HOP_S
    outside = np.ones(len(level), bool)
    for note in notes:
        outside &= (at < note.start_s - _BESIDE_S) | (at > note.end_s + _BESIDE_S)
    if not outside.any():
        return ()
    room = np.percentile(power[outside], 10)
    blown = np.concatenate(
        [[False], outside & (power > room * 10 ** (_ABOVE_ROOM_DB / 10)), [False]]
    )
    turns = np.flatnonzero(np.diff(blown.astype(int)))
    found = (
        Stretch(float(a * HOP_S), float(b * HOP_S))
        for a, b in zip(turns[::2], turns[1::2], strict=True)
    )
    return tuple(each for each in found if each.seconds >= _SHORTEST_S)
