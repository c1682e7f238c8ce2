"""Note names as people write them, both ways.

English names with `#` or `♯`, `b` or `♭`, doubled too; the octave is the letter's, so B#4 sounds
as C5 and Cb5 as B4; a suffix in cents may follow, as in `A4+13.5`. Names we write spell sharps.
German names (B is H, B flat is B, F sharp is Fis, then Es and As) are for showing only, never for
reading.
"""

import re
from dataclasses import dataclass
from typing import Final

from combwright.errors import CombwrightError
from combwright.notes.pitch import MILLICENTS_PER_SEMITONE, millicents

LETTER_SEMITONES: Final = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
SHARP_NAMES: Final = ("C", "C#", "D", "D#", "E", "F", "F#", "G", "G#", "A", "A#", "B")
FLAT_NAMES: Final = ("C", "Db", "D", "Eb", "E", "F", "Gb", "G", "Ab", "A", "Bb", "B")
#: German spells the black keys as its players say them; only C and F are raised.
GERMAN_NAMES: Final = ("C", "Cis", "D", "Es", "E", "F", "Fis", "G", "As", "A", "B", "H")
GERMAN_FLAT_NAMES: Final = ("C", "Des", "D", "Es", "E", "F", "Ges", "G", "As", "A", "B", "H")
LOWEST_MIDI: Final = 0
HIGHEST_MIDI: Final = 127
#: An octave; a suffix beyond that is a slip of the pen, and no reed is filed that far.
MOST_CENTS: Final = 1200

_ACCIDENTALS: Final = {"": 0, "#": 1, "♯": 1, "b": -1, "♭": -1, "𝄪": 2, "𝄫": -2}
_NOTE: Final = re.compile(
    r"(?P<letter>[A-Ga-g])(?P<accidental>[#♯]{0,2}|[b♭]{0,2}|𝄪|𝄫)(?P<octave>-?\d{1,2})"
    r"(?:\s*(?P<sign>[+\-\u2212])\s*(?P<cents>\d+(?:[.,]\d+)?))?"
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


class CentsTooFar(CombwrightError):
    """A suffix of more than an octave."""

    def __init__(self, text: str) -> None:
        super().__init__(
            f"{text!r} lies more than {MOST_CENTS} cents beside its note: "
            "name the nearest note and the few cents from it, as in A4+13.5."
        )


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
    """Read a note such as `F#5`, `Gb5`, `F♯5`, `B#4`, `A4+13.5` or `A4-13,5`.

    Raises
    ------
    BadNote
        If the text is no note name.
    NoteOutOfRange
        If the note sounds below MIDI 0 or above 127.
    CentsTooFar
        If the suffix is more than 1200 cents either way.
    """
    found = _NOTE.fullmatch(text.strip())
    if found is None:
        raise BadNote(text)
    alter = sum(_ACCIDENTALS[sign] for sign in found["accidental"])
    letter = LETTER_SEMITONES[found["letter"].upper()]
    midi = 12 * (int(found["octave"]) + 1) + letter + alter
    if not LOWEST_MIDI <= midi <= HIGHEST_MIDI:
        raise NoteOutOfRange(text)
    size = float((found["cents"] or "0").replace(",", "."))
    if size > MOST_CENTS:
        raise CentsTooFar(text)
    return Note(midi, size if found["sign"] == "+" else 0.0 - size)


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
    octave, pitch_class = divmod(midi, 12)
    return f"{_spellings(flats, german)[pitch_class]}{octave - 1}"


def _spellings(flats: bool, german: bool) -> tuple[str, ...]:
    if german:
        return GERMAN_FLAT_NAMES if flats else GERMAN_NAMES
    return FLAT_NAMES if flats else SHARP_NAMES


def note_text(midi: int, cents: float = 0.0) -> str:
    """Write a note with its cents to the thousandth, so that `parse_note` reads that note again.

    A thousandth of a cent is as fine as pitches are ever compared (`millicents`).
    """
    beside = millicents(midi, cents) - MILLICENTS_PER_SEMITONE * midi
    if not beside:
        return note_name(midi)
    return note_name(midi) + f"{beside / 1000:+.3f}".rstrip("0").rstrip(".")
