"""Note names and numbers, worked out apart from the program's own."""

import re

NAMES = ("C", "C#", "D", "D#", "E", "F", "F#", "G", "G#", "A", "A#", "B")


def name(midi):
    """Write a MIDI number with a sharp, the octave counted from C; 60 is C4."""
    return f"{NAMES[midi % 12]}{midi // 12 - 1}"


def midi(text):
    letters, octave = re.fullmatch(r"([A-G]#?)(-?\d)", text).groups()
    return NAMES.index(letters) + 12 * (int(octave) + 1)


def pitch_class(text):
    """Return the place above C of a letter with a sharp or a flat."""
    return (NAMES.index(text[0]) + text.count("#") - text[1:].count("b")) % 12
