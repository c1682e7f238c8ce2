"""Keys, lengths and metres of ABC, as the standard 2.1 writes them, [abc] section 3.1."""

import re
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Final

STEPS: Final = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
_SHARPS: Final = "FCGDAEB"
#: Sharps of the major key on a letter.
_FIFTHS: Final = {"F": -1, "C": 0, "G": 1, "D": 2, "A": 3, "E": 4, "B": 5}
#: What a mode adds to the sharps of the major key on the same tonic.
_MODES: Final = {
    "": 0, "maj": 0, "ion": 0, "m": -3, "min": -3, "aeo": -3, "mix": -1, "dor": -2, "phr": -4,
    "lyd": 1, "loc": -5,
}  # fmt: skip
_KEY: Final = re.compile(r"([A-G])([#b]?)\s*([A-Za-z]*)")
_OWN: Final = re.compile(r"(\^\^|\^|__|_|=)([A-Ga-g])")
_SIGNS: Final = {"^": 1, "^^": 2, "_": -1, "__": -2, "=": 0}
_CLEFS: Final = r"(?:treble|alto|tenor|bass|baritone|soprano|mezzo\w*|perc)"
_CLEF: Final = re.compile(rf"(?:^|\s)(?:clef=)?\"?{_CLEFS}\d?([+-]8)?(?=[\s\"]|$)")
_PROPERTY: Final = re.compile(
    r"(?:^|\s+)(?:(?:clef|octave|transpose|t|middle|m|stafflines|score|sound|shift|style|cue)="
    rf"|{_CLEFS})"
)
_METRE: Final = re.compile(r"\(?([\d+ ]{1,20})\)?\s*/\s*(\d{1,3})")
_LENGTH: Final = re.compile(r"(\d{1,3})(?:\s*/\s*(\d{1,4}))?\s*(?:$|%)")
_WORDS: Final = ("C", "C|", "NONE", "")


@dataclass(frozen=True, slots=True)
class AbcKey:
    """What a K: field says of sharps and flats.

    Parameters
    ----------
    signs : dict of letter to semitones
        The sharps and flats of the signature; letters without one are absent.
    known : bool
        Whether all of it could be read.
    """

    signs: dict[str, int] = field(default_factory=dict)
    known: bool = True


def read_key(text: str, before: AbcKey | None = None) -> AbcKey:
    """Read a K: field; one that names only a clef keeps the signature before it.

    The highland pipes sound F and C sharp in both their keys, though `HP` does not print them.
    """
    text = text.split("%", 1)[0].strip()
    head = _PROPERTY.split(text, maxsplit=1)[0].strip()
    if not head:
        return before if before is not None and text else AbcKey()
    if head.lower() == "none":
        return AbcKey()
    if head.upper() == "HP":
        return AbcKey({"F": 1, "C": 1})
    found = _KEY.match(head)
    signs, known = _of_tonic(*found.groups()) if found else ({}, bool(_OWN.match(head)))
    own = _OWN.findall(head[found.end() if found else 0 :])
    return AbcKey(signs | {note.upper(): _SIGNS[sign] for sign, note in own}, known)


def _of_tonic(letter: str, sign: str, word: str) -> tuple[dict[str, int], bool]:
    """Return the signature, and whether the mode is known; one that is not is read as major."""
    mode = word.lower()[:3]
    if mode == "exp":
        return {}, True
    count = _FIFTHS[letter] + {"#": 7, "b": -7, "": 0}[sign] + _MODES.get(mode, 0)
    return _signature(count), mode in _MODES


def read_shift(text: str) -> int | None:
    """Return the semitones by which a K: or V: field moves the notes; None where it says nothing.

    `octave=`, `transpose=` or `t=`, and clefs with an 8 above or below, [abc] section 4.6.
    """
    clef = _CLEF.search(text)
    said = [12 * n for n in _numbers(text, "octave")] + _numbers(text, "transpose|t")
    if clef:
        said.append({"+8": 12, "-8": -12, None: 0}[clef[1]])
    return sum(said) if said else None


def read_length(text: str) -> Fraction | None:
    """Read an L: field; None where it says no length."""
    found = _LENGTH.match(text.strip())
    if not found or not int(found[1]) or int(found[2] or 1) == 0:
        return None
    return Fraction(int(found[1]), int(found[2] or 1))


def read_metre(text: str) -> Fraction | None:
    """Return the length of a bar: a whole note where M: gives none, None where it is odd."""
    text = text.split("%", 1)[0].strip()
    found = _METRE.fullmatch(text)
    if found and int(found[2]):
        return Fraction(_beats(found[1]), int(found[2]))
    return Fraction(1) if text.upper() in _WORDS else None


def usual_length(metre: str) -> Fraction:
    """Return the unit length that a metre implies: a sixteenth below 3/4, else an eighth."""
    bar = read_metre(metre)
    return Fraction(1, 16) if bar is not None and bar < Fraction(3, 4) else Fraction(1, 8)


def is_compound(metre: str) -> bool:
    """Tell whether a metre is one in which (5 or (7 goes into the time of three."""
    found = _METRE.search(metre)
    return found is not None and found[1].strip() in ("6", "9", "12")


def _beats(text: str) -> int:
    return sum(int(n) for n in re.findall(r"\d+", text))


def metre_of(text: str) -> str:
    """Return a metre as it stands at the head of a staff, empty where there is none."""
    text = text.split("%", 1)[0].strip()
    if text in ("C", "C|"):
        return text
    found = _METRE.fullmatch(text)
    return f"{found[1].strip().replace(' ', '')}/{found[2]}" if found and int(found[2]) else ""


def sharps_of(key: AbcKey, shift: int = 0) -> int:
    """Return how many sharps a signature has when it is moved by semitones, flats below 0."""
    return sum(key.signs.values()) + 7 * (shift % 12)


def _signature(count: int) -> dict[str, int]:
    signs: dict[str, int] = {}
    for n in range(abs(count)):
        letter = _SHARPS[n % 7] if count > 0 else _SHARPS[::-1][n % 7]
        signs[letter] = signs.get(letter, 0) + (1 if count > 0 else -1)
    return signs


def _numbers(text: str, name: str) -> list[int]:
    return [int(n) for n in re.findall(rf"\b(?:{name})=(-?\d{{1,2}})\b", text)[:1]]
