"""Note names as people write them, both ways.

English names with `#` or `♯`, `b` or `♭`, doubled too; the octave is the letter's, so B#4 sounds
as C5 and Cb5 as B4; a suffix in cents may follow, as in `A4+13.5`. Names we write spell sharps.
German names (B is H, B flat is B, F sharp is Fis) are for showing only, never for reading.
"""

import re
from dataclasses import dataclass
from typing import Final

from combwright.errors import CombwrightError

LETTER_SEMITONES: Final = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
SHARP_NAMES: Final = ("C", "C#", "D", "D#", "E", "F", "F#", "G", "G#", "A", "A#", "B")
FLAT_NAMES: Final = ("C", "Db", "D", "Eb", "E", "F", "Gb", "G", "Ab", "A", "Bb", "B")
GERMAN_NAMES: Final = ("C", "Cis", "D", "Dis", "E", "F", "Fis", "G", "Gis", "A", "B", "H")
LOWEST_MIDI: Final = 0
HIGHEST_MIDI: Final = 127

_ACCIDENTALS: Final = {"": 0, "#": 1, "♯": 1, "b": -1, "♭": -1, "𝄪": 2, "𝄫": -2}
_NOTE: Final = re.compile(
    r"(?P<letter>[A-Ga-g])(?P<accidental>[#♯]{0,2}|[b♭]{0,2}|𝄪|𝄫)(?P<octave>-?\d{1,2})"
    r"(?P<cents>[+\-\u2212]\d+(?:\.\d+)?)?"
)


class BadNote(CombwrightError):
    """A note name that cannot be read."""

    def __init__(self, text: str) -> None:
        super().__init__(
            f"{text!r} is no note: write a letter from A to G, # or b if wanted, and the octave, "
            "as in F#5, Bb4 or A4+13.5."
        )


class NoteOutOfRange(CombwrightError):
    """A note below MIDI note 0 (C-1) or above 127 (G9)."""

    def __init__(self, text: str) -> None:
        super().__init__(f"{text!r} lies outside the range C-1 to G9 (MIDI notes 0 to 127).")


@dataclass(frozen=True, slots=True)
class Note:
    """A note as written: its sounding semitone and how many cents beside it.

    Parameters
    ----------
    midi : int
        MIDI number of the sounding note, 0 to 127; A4 is 69.
    cents : float
        The suffix, 0.0 where none was written.
    """

    midi: int
    cents: float = 0.0


def parse_note(text: str) -> Note:
    """Read a note such as `F#5`, `Gb5`, `F♯5`, `B#4` or `A4+13.5`.

    Raises
    ------
    BadNote
        If the text is no note name.
    NoteOutOfRange
        If the note sounds below MIDI 0 or above 127.
    """
    found = _NOTE.fullmatch(text.strip())
    if found is None:
        raise BadNote(text)
    alter = sum(_ACCIDENTALS[sign] for sign in found["accidental"])
    letter = LETTER_SEMITONES[found["letter"].upper()]
    midi = 12 * (int(found["octave"]) + 1) + letter + alter
    if not LOWEST_MIDI <= midi <= HIGHEST_MIDI:
        raise NoteOutOfRange(text)
    return Note(midi, float((found["cents"] or "0").replace("\u2212", "-")))


def parse_midi(text: str) -> int:
    """Read a note that may carry no cents suffix, and return its MIDI number.

    Raises
    ------
    BadNote
        If the text is no note name, or carries a suffix in cents.
    """
    note = parse_note(text)
    if note.cents:
        raise BadNote(text)
    return note.midi


def note_name(midi: int, *, flats: bool = False, german: bool = False) -> str:
    """Write the name of a MIDI note, spelled with sharps unless flats or German is asked for."""
    names = GERMAN_NAMES if german else FLAT_NAMES if flats else SHARP_NAMES
    octave, pitch_class = divmod(midi, 12)
    return f"{names[pitch_class]}{octave - 1}"


def note_text(midi: int, cents: float = 0.0) -> str:
    """Write a note with its cents suffix, so that `parse_note` reads the same note again."""
    return f"{note_name(midi)}{cents:+g}" if cents else note_name(midi)
