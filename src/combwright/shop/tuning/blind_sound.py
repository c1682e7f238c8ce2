"""What is played in a blind test: one note of two takes, cut alike and made equally loud.

Every excerpt is given out with a dither of its own, drawn afresh. A dither belongs to sound of 16
bits anyway; here it also keeps X from being the same file as A or as B, byte for byte.
"""

import io
import secrets
from functools import lru_cache
from typing import Final

import numpy as np
from numpy.typing import NDArray

from combwright.ear.blind import excerpts
from combwright.ear.sound import Sound
from combwright.files.recordings import unpack
from combwright.shop.register.models import Recording, Take
from combwright.shop.tuning.models import BlindTest

#: A little is left around a note; its edges are found anew by level.
_AROUND_S: Final = 0.03
_FULL_SCALE: Final = 2**15


def check(a: Take, b: Take, place: str) -> None:
    """See that a seat of two takes can be listened to.

    Raises
    ------
    BadSound
        If one of the two is silent or too short there.
    """
    _excerpts(str(a.key), str(b.key), place)


def excerpt(test: BlindTest, which: str) -> bytes:
    """Return A, B or the X of the trial that is asked now, as a WAV file.

    Parameters
    ----------
    which : str
        `a`, `b` or `x`.
    """
    side = test.drawn[-1] if which == "x" else which
    a, b, rate = _excerpts(str(test.a.key), str(test.b.key), test.place)
    return _wav(a if side == "a" else b, rate)


@lru_cache(maxsize=8)
def _excerpts(a: str, b: str, place: str) -> tuple[NDArray[np.float64], NDArray[np.float64], int]:
    """Return both excerpts and their rate; recordings never change, so they are kept a while."""
    sounds = [_note(key, place) for key in (a, b)]
    found = excerpts(*sounds)
    return found.a, found.b, min(sound.rate for sound in sounds)


def _note(key: str, place: str) -> Sound:
    recording = Recording.objects.select_related("take").get(take__key=key)
    heard = recording.take.readings.filter(place=place).earliest("pk")
    start, end = heard.start_s or 0.0, heard.end_s or recording.take.seconds
    return unpack(bytes(recording.data)).part(max(0.0, start - _AROUND_S), end + _AROUND_S)


def _wav(samples: NDArray[np.float64], rate: int) -> bytes:
    import soundfile

    rng = np.random.default_rng(secrets.randbits(128))
    dither = rng.uniform(-0.5, 0.5, (2, len(samples))).sum(axis=0)
    steps = np.clip(np.round(samples * _FULL_SCALE + dither), -_FULL_SCALE, _FULL_SCALE - 1)
    file = io.BytesIO()
    soundfile.write(file, steps.astype(np.int16), rate, "PCM_16", format="WAV")
    return file.getvalue()
