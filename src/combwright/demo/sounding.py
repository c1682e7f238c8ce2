"""How the demo's instruments sound: reeds made up from partials, so that its pages have takes."""

from collections.abc import Sequence
from typing import Final

import numpy as np

from combwright.ear.sound import Samples, Sound

RATE: Final = 22_050
_NOTE_S, _REST_S, _EDGE_S = 0.45, 0.12, 0.02
_LEVEL, _ROOM = 0.1, 0.0005
_PARTIALS: Final = 10


def played(reeds_hz: Sequence[float], *, seed: int) -> Sound:
    """Return a take: reeds one after the other, in a quiet room.

    Parameters
    ----------
    reeds_hz : sequence of float
        As they sound.
    seed : int
        Of the room and of how each reed's partials fall off; equal ones give equal takes.
    """
    rng = np.random.default_rng(seed)
    rest = np.zeros(round(_REST_S * RATE))
    parts = [rest, rest]
    for hz in reeds_hz:
        parts += [_reed(hz, rng), rest]
    sound = np.concatenate(parts)
    return Sound(sound + rng.normal(0, _ROOM, len(sound)), RATE)


def _reed(hz: float, rng: np.random.Generator) -> Samples:
    t = np.arange(round(_NOTE_S * RATE)) / RATE
    order = np.arange(1, max(2, min(_PARTIALS, int(0.45 * RATE / hz))))
    strength = order ** -rng.uniform(0.6, 1.2)
    phases = 2 * np.pi * (np.outer(hz * order, t) + rng.uniform(0, 1, len(order))[:, None])
    edge = np.minimum(1.0, np.minimum(t, t[::-1]) / _EDGE_S)
    level = _LEVEL / np.sqrt(np.sum(strength**2) / 2)
    return np.asarray(level * edge * (strength @ np.cos(phases)), dtype=np.float64)
