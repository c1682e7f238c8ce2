"""Recordings as they are kept: one side, packed as FLAC, which loses nothing, and unpacked again.

Samples are turned into whole numbers here and not by the library, whose full scale differs by one
between reading and writing: so what is unpacked is what was packed, to the last bit.
"""

import io
from dataclasses import dataclass
from typing import Final

import numpy as np

from combwright.ear.sound import Sound
from combwright.files.results import BadFile, Read
from combwright.files.sounds import sound_of

#: A take of twenty reeds lasts a minute or less.
MOST_SECONDS: Final = 5 * 60
MOST_SAMPLES: Final = 32_000_000


@dataclass(frozen=True, slots=True)
class Recording:
    """One side of a recording, packed."""

    data: bytes
    rate: int
    seconds: float


def pack_recording(data: bytes, name: str) -> Read[Recording]:
    """Read a WAV or FLAC file that was handed in, and pack what is to be kept of it.

    Parameters
    ----------
    data : bytes
        The whole file.
    name : str
        What refusals and warnings call it.

    Raises
    ------
    BadFile
        If nothing in it can be measured, or it is longer than 5 minutes.
    """
    opened = sound_of(io.BytesIO(data), name, most_seconds=MOST_SECONDS, most_samples=MOST_SAMPLES)
    sound = opened.sound.value
    try:
        packed = pack(sound, opened.bits)
    except RuntimeError:
        raise BadFile(
            f"{name} has {sound.rate:,} samples a second, which cannot be packed; record with "
            "44,100, 48,000 or 96,000."
        ) from None
    return Read(Recording(packed, sound.rate, sound.seconds), opened.sound.warnings)


def pack(sound: Sound, bits: int = 24) -> bytes:
    """Pack a sound as FLAC of 16 or 24 bits; one louder than full scale is brought down to it."""
    import soundfile

    scale = 1 << (bits - 1)
    loudest = max(1.0, float(np.abs(sound.samples).max()))
    steps = np.clip(np.round(sound.samples / loudest * scale), -scale, scale - 1)
    whole = steps.astype(np.int32) << np.int32(32 - bits)
    file = io.BytesIO()
    soundfile.write(file, whole, sound.rate, f"PCM_{bits}", format="FLAC")
    return file.getvalue()


def unpack(data: bytes) -> Sound:
    """Return a sound that was packed."""
    import soundfile

    samples, rate = soundfile.read(io.BytesIO(data), dtype="float64")
    return Sound(samples, int(rate))
