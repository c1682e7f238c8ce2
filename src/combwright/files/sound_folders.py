"""Takes of one instrument: one recording, or a folder of them."""

from pathlib import Path
from typing import Final

from combwright.files.opening import shown
from combwright.files.results import BadFile, Read
from combwright.files.sounds import read_sound

MOST_TAKES: Final = 40
_ENDINGS: Final = {".wav", ".flac"}


def takes_in(path: Path) -> Read[tuple[Path, ...]]:
    """Return the recording that a path names, or those in the folder that it names, by name.

    Raises
    ------
    BadFile
        If there is nothing there, or the folder holds no WAV or FLAC file, or more than 40.
    """
    if not path.is_dir():
        if not path.exists():
            raise BadFile(f"There is no file or folder {shown(path)}.")
        return Read((path,))
    try:
        inside = sorted(each for each in path.iterdir() if each.name[0] != "." and each.is_file())
    except OSError:
        raise BadFile(f"{shown(path)} may not be read: permission is denied.") from None
    found = tuple(each for each in inside if each.suffix.casefold() in _ENDINGS)
    if not found:
        raise BadFile(f"The folder {shown(path)} holds no WAV or FLAC file; put takes into it.")
    if len(found) > MOST_TAKES:
        raise BadFile(
            f"The folder {shown(path)} holds {len(found)} recordings; the most is {MOST_TAKES}."
        )
    others = len(inside) - len(found)
    left = f"{shown(path)}: {others} other file{'s are' if others > 1 else ' is'} left out."
    return Read(found, (left,) if others else ())


def rate_of(path: Path) -> int:
    """Return how many samples a second a recording has.

    Raises
    ------
    BadFile
        As `read_sound`, if it is none.
    """
    from soundfile import LibsndfileError, SoundFile

    try:
        with path.open("rb") as file, SoundFile(file) as opened:
            return int(opened.samplerate)
    except (LibsndfileError, OSError):
        return read_sound(path).value.rate
