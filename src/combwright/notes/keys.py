"""The keys a harmonica is sold in: a root, and how far it moves every note of the C form."""

import re
from dataclasses import dataclass
from typing import Final

from combwright.errors import CombwrightError
from combwright.notes.names import FLAT_NAMES, LETTER_SEMITONES, SHARP_NAMES

#: From the lowest ordinary key to the highest; roots run from G3 to F#4.
ORDINARY_KEYS: Final = ("G", "Ab", "A", "Bb", "B", "C", "Db", "D", "Eb", "E", "F", "F#")
_KEY: Final = re.compile(
    r"(?:(?P<register>low|high)\s+)?(?P<letter>[A-Ga-g])(?P<accidental>[#♯b♭]?)", re.IGNORECASE
)
_ACCIDENTALS: Final = {"": 0, "#": 1, "♯": 1, "b": -1, "♭": -1}


class BadKey(CombwrightError):
    """A key that cannot be read."""

    def __init__(self, text: str) -> None:
        super().__init__(
            f"{text!r} is no key: write one of {', '.join(ORDINARY_KEYS)}, "
            "with 'low' or 'high' before it for another octave."
        )


@dataclass(frozen=True, slots=True)
class Key:
    """A key of the C form: what its root is called and by how many semitones it moves C.

    Parameters
    ----------
    name : str
        As shown: `Bb`, `low F`.
    shift : int
        Semitones from C4 to the root: -5 (G) to +6 (F#), a low or high key an octave beside it.
    """

    name: str
    shift: int

    @property
    def pitch_class(self) -> int:
        """The root as a pitch class, C is 0."""
        return self.shift % 12


def parse_key(text: str) -> Key:
    """Read a key such as `A`, `Bb`, `C#`, `low F` or `high G`.

    Raises
    ------
    BadKey
        If the text is no key.
    """
    found = _KEY.fullmatch(text.strip())
    if found is None:
        raise BadKey(text)
    letter = found["letter"].upper()
    accidental = found["accidental"].lower()
    pitch_class = (LETTER_SEMITONES[letter] + _ACCIDENTALS[accidental]) % 12
    ordinary = pitch_class if pitch_class <= 6 else pitch_class - 12
    register = (found["register"] or "").lower()
    octave = {"": 0, "low": -12, "high": 12}[register]
    name = letter + accidental.replace("♯", "#").replace("♭", "b")
    return Key(f"{register} {name}".strip(), ordinary + octave)


def transposed_name(pitch_class: int, *, flats: bool = False) -> str:
    """Return a pitch class as a letter with its accidental, no octave."""
    return (FLAT_NAMES if flats else SHARP_NAMES)[pitch_class % 12]
