"""Recordings: WAV of any depth and FLAC, read into one row of samples.

What a recording lacks is said in one line: refused where nothing could be measured, a warning where
something can. Where two sides were recorded the mean is taken, and the living side where one is
dead.
"""

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, BinaryIO, Final

import numpy as np

from combwright.ear.sound import SILENT_DB, Sound, level_db
from combwright.files.opening import shown
from combwright.files.results import BadFile, Read

if TYPE_CHECKING:
    from numpy.typing import NDArray
    from soundfile import SoundFile

MOST_SECONDS: Final = 15 * 60
LEAST_SECONDS: Final = 0.05
LOWEST_RATE, HIGHEST_RATE, POOR_RATE = 8_000, 384_000, 22_050
MOST_CHANNELS: Final = 32
#: Of all sides together; a small FLAC file can unfold to far more.
MOST_SAMPLES: Final = 200_000_000
#: Full scale less a little: an odd rounding in the recorder must not hide a clipped top.
_RAIL: Final = 0.999
_CLIPPED_SHARE: Final = 2e-4
_DEAD_BELOW_DB: Final = 40.0
_KINDS: Final = {"WAV", "WAVEX", "RF64", "W64", "FLAC"}
_SIXTEEN: Final = {"PCM_U8", "PCM_S8", "PCM_16"}


def read_sound(path: Path) -> Read[Sound]:
    """Read a WAV or FLAC file.

    Raises
    ------
    BadFile
        If it is missing, neither WAV nor FLAC whatever its name, damaged, too long, too short, or
        silent.
    """
    if path.is_dir():
        raise BadFile(f"{shown(path)} is a folder; name a recording in it.")
    if not path.is_file():
        raise BadFile(f"There is no file {shown(path)}.")
    try:
        with path.open("rb") as file:
            return sound_of(file, shown(path), short=path.name).sound
    except PermissionError:
        raise BadFile(f"{shown(path)} may not be read: permission is denied.") from None


@dataclass(frozen=True, slots=True)
class Opened:
    """A recording as read, and how many bits each of its samples is worth: 16 or 24."""

    sound: Read[Sound]
    bits: int


def sound_of(
    file: BinaryIO,
    name: str,
    *,
    short: str = "",
    most_seconds: int = MOST_SECONDS,
    most_samples: int = MOST_SAMPLES,
) -> Opened:
    """Read an open WAV or FLAC file.

    Parameters
    ----------
    name, short : str
        What refusals and warnings call it; without `short` both say `name`.
    most_seconds, most_samples : int
        How long it may be, and how many samples all its sides together may have.

    Raises
    ------
    BadFile
        As `read_sound`.
    """
    from soundfile import LibsndfileError, SoundFile

    try:
        with SoundFile(file) as opened:
            _check(name, opened, most_seconds, most_samples)
            channels = opened.read(dtype="float32", always_2d=True)
            rate, bits = opened.samplerate, 16 if opened.subtype in _SIXTEEN else 24
    except LibsndfileError:
        file.seek(0)
        what = "no recording, or a damaged one" if file.read(1) else "an empty file"
        raise BadFile(f"{name} is {what}; save it as WAV or FLAC.") from None
    return Opened(_heard(name, short or name, channels, rate), bits)


def _check(name: str, opened: "SoundFile", most_seconds: int, most_samples: int) -> None:
    """Refuse by what the head of the file says, before its samples are read."""
    if opened.format not in _KINDS or "MPEG" in opened.subtype:
        kind = "MP3" if "MPEG" in opened.subtype else opened.format
        raise BadFile(
            f"{name} holds {kind} sound, whatever its name; "
            "record as WAV or FLAC, which change nothing."
        )
    rate, seconds = opened.samplerate, opened.frames / opened.samplerate
    if not LOWEST_RATE <= rate <= HIGHEST_RATE:
        raise BadFile(
            f"{name} has {rate:,} samples a second; record with {LOWEST_RATE:,} to "
            f"{HIGHEST_RATE:,}, best 48,000."
        )
    if opened.channels > MOST_CHANNELS:
        raise BadFile(f"{name} has {opened.channels} channels; record one or two.")
    if seconds > most_seconds:
        raise BadFile(
            f"{name} lasts {_long(seconds)} and was not read; the most is "
            f"{_long(most_seconds)}: cut out the part to be measured."
        )
    if (samples := opened.frames * opened.channels) > most_samples:
        raise BadFile(
            f"{name} holds {samples:,} samples and was not read; the most is {most_samples:,}: "
            "record one side, with 48,000 a second."
        )
    if seconds < LEAST_SECONDS:
        raise BadFile(f"{name} lasts {1000 * seconds:.0f} ms; a reed needs to sound for a second.")


def _long(seconds: float) -> str:
    hours, minutes = divmod(round(seconds / 60), 60)
    return f"{hours} h {minutes} min" if hours else f"{minutes} min"


def _heard(name: str, short: str, channels: "NDArray[np.float32]", rate: int) -> Read[Sound]:
    if not np.isfinite(channels).all():
        raise BadFile(f"{name} holds samples that are no numbers; record it again.")
    warnings: list[str] = []
    levels = [level_db(side.astype(float)) for side in channels.T]
    if max(levels) < SILENT_DB:
        raise BadFile(
            f"{name} is silent: its level is {_decibels(max(levels))}; check the microphone."
        )
    alive = [n for n, level in enumerate(levels) if level > max(levels) - _DEAD_BELOW_DB]
    if len(alive) < len(levels):
        dead = ", ".join(str(n + 1) for n in range(len(levels)) if n not in alive)
        warnings.append(f"{short}: side {dead} is dead; the other is measured.")
    if rate < POOR_RATE:
        warnings.append(
            f"{short}: with {rate:,} samples a second nothing above {rate // 2:,} Hz is heard; "
            "record with 44,100 or 48,000."
        )
    sides = channels[:, alive]
    if (clipped := _clipped(sides)) > _CLIPPED_SHARE:
        warnings.append(
            f"{short}: {clipped:.1%} of the sound is clipped; turn the microphone down."
        )
    return Read(Sound(sides.mean(axis=1, dtype=np.float64), rate), tuple(warnings))


def _decibels(level: float) -> str:
    return "nothing at all" if level <= -190 else f"{level:.0f} dB of full scale"


def _clipped(sides: "NDArray[np.float32]") -> float:
    """Return the share of samples on the rail that have a neighbour there: flat tops."""
    top = float(np.abs(sides).max())
    if top < _RAIL:
        return 0.0
    flat = np.abs(sides) >= _RAIL * min(top, 1.0)
    return float(np.mean(flat[1:] & flat[:-1]))
