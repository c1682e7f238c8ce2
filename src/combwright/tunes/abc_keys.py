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
_METRE: Final = re.compile(r"\(?([\d+ ]{1,20})\)?\s*/\s*(\d{1,3})")
_LENGTH: Final = re.compile(r"(\d{1,3})(?:\s*/\s*(\d{1,4}))?\s*(?:$|%)")


@dataclass(frozen=True, slots=True)
class AbcKey:
    """What a K: field says.

    Parameters
    ----------
    signs : dict of letter to semitones
        The sharps and flats of the signature; letters without one are absent.
    shift : int
        Semitones that `octave=` and `transpose=` add to every note.
    known : bool
        Whether it could be read.
    """

    signs: dict[str, int] = field(default_factory=dict)
    shift: int = 0
    known: bool = True


def read_key(text: str, before: AbcKey | None = None) -> AbcKey:
    """Read a K: field; one that names only a clef keeps the signature before it."""
    text = text.split("%", 1)[0].strip()
    shift = 12 * _number(text, "octave") + _number(text, "transpose")
    words = re.split(r"\s+(?=\w+=)|\s+(?=clef|treble|bass|alto|tenor|perc)", text, maxsplit=1)
    head = words[0].strip()
    if head.lower() in ("", "none") or re.match(r"(clef|treble|bass|alto|tenor|perc|\w+=)", head):
        keeps = before is not None and head.lower() != "none"
        return AbcKey(dict(before.signs) if keeps and before else {}, shift)
    if head in ("HP", "Hp"):
        return AbcKey({"F": 1, "C": 1} if head == "Hp" else {}, shift)
    found = _KEY.match(head)
    if not found:
        return AbcKey({}, shift, known=bool(_OWN.match(head)))
    return _of_tonic(found, head, shift)


def _of_tonic(found: re.Match[str], head: str, shift: int) -> AbcKey:
    letter, sign, word = found.groups()
    mode = word if word in ("m",) else word.lower()[:3]
    if mode == "exp":
        signs: dict[str, int] = {}
    else:
        if mode not in _MODES and mode != "m":
            return AbcKey({}, shift, known=False)
        count = _FIFTHS[letter] + {"#": 7, "b": -7, "": 0}[sign] + _MODES[mode]
        signs = _signature(count)
    for accidental, note in _OWN.findall(head[found.end() :]):
        signs[note.upper()] = _SIGNS[accidental]
    return AbcKey(signs, shift)


def read_length(text: str) -> Fraction | None:
    """Read an L: field; None where it says no length."""
    found = _LENGTH.match(text.strip())
    if not found or not int(found[1]) or int(found[2] or 1) == 0:
        return None
    return Fraction(int(found[1]), int(found[2] or 1))


def usual_length(metre: str) -> Fraction:
    """Return the unit length that a metre implies: a sixteenth below 3/4, else an eighth."""
    found = _METRE.search(metre)
    if not found or not int(found[2]):
        return Fraction(1, 8)
    beats = sum(int(n) for n in re.findall(r"\d+", found[1]))
    return Fraction(1, 16) if Fraction(beats, int(found[2])) < Fraction(3, 4) else Fraction(1, 8)


def is_compound(metre: str) -> bool:
    """Tell whether a metre is one in which (5 or (7 goes into the time of three."""
    found = _METRE.search(metre)
    return bool(found) and found is not None and found[1].strip() in ("6", "9", "12")


def metre_of(text: str) -> str:
    """Return a metre as it stands at the head of a staff, empty where there is none."""
    text = text.split("%", 1)[0].strip()
    if text in ("C", "C|"):
        return text
    found = _METRE.fullmatch(text)
    return f"{found[1].strip().replace(' ', '')}/{found[2]}" if found and int(found[2]) else ""


def sharps_of(key: AbcKey) -> int:
    """Return how many sharps the signature has as it sounds, flats below 0."""
    return sum(key.signs.values()) + 7 * (key.shift % 12)


def _signature(count: int) -> dict[str, int]:
    signs: dict[str, int] = {}
    for n in range(abs(count)):
        letter = _SHARPS[n % 7] if count > 0 else _SHARPS[::-1][n % 7]
        signs[letter] = signs.get(letter, 0) + (1 if count > 0 else -1)
    return signs


def _number(text: str, name: str) -> int:
    found = re.search(rf"\b{name}=(-?\d{{1,2}})\b", text)
    return int(found[1]) if found else 0
