"""Spelling: which letter and accidental a note is written with under a key signature."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

#: Letters in the order of fifths; F is the first that a sharp is set on.
_LETTERS: Final = "FCGDAEB"
_STEPS: Final = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
#: Of the major key's tonic on the line of fifths, the notes from two beside the scale on the flat
#: side to three on the sharp side: Eb, Bb, the scale, F#, C#, G# in C (common practice).
_BELOW: Final = 3
#: The signatures that are written, from six flats to six sharps.
SIGNATURES: Final = range(-6, 7)


@dataclass(frozen=True, slots=True)
class Spelled:
    """A note as it is written.

    Parameters
    ----------
    letter : str
        C to B.
    alter : int
        Sharps, flats below 0.
    octave : int
        The letter's.
    """

    letter: str
    alter: int
    octave: int


def spelled(midi: int, fifths: int) -> Spelled:
    """Return how a note is written under a signature of so many sharps, flats below 0."""
    lowest = fifths - _BELOW
    place = lowest + (7 * midi - lowest) % 12
    letter = _LETTERS[(place + 1) % 7]
    alter = (place + 1) // 7
    octave = (midi - alter - _STEPS[letter]) // 12 - 1
    return Spelled(letter, alter, octave)


def of_signature(letter: str, fifths: int) -> int:
    """Return how many sharps a signature sets on a letter, flats below 0."""
    place = _LETTERS.index(letter)
    return (fifths + 6 - place) // 7


def moved_signature(fifths: int, semitones: int) -> int:
    """Return a signature moved by semitones, spelled with at most six sharps or flats."""
    moved = (fifths + 7 * semitones) % 12
    return moved if moved <= max(SIGNATURES) else moved - 12


def likely_signature(pitches: Iterable[int]) -> int:
    """Return the signature under which the fewest notes need an accidental.

    Of equal ones it is the one with the fewest signs.
    """
    classes = [midi % 12 for midi in pitches]

    def strange(fifths: int) -> int:
        scale = {(7 * (fifths + step)) % 12 for step in range(-1, 6)}
        return sum(each not in scale for each in classes)

    return min(SIGNATURES, key=lambda fifths: (strange(fifths), abs(fifths), fifths))
