"""What the whole instrument gives: every note and every way to it, and its scales by position.

Positions go up by fifths from the key, as players count them: the first is the key itself, the
second a fifth above it, the twelfth a fourth above it, which is a fifth below (common practice).
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final, Literal

from combwright.comb.chamber import bends, overbend, sounding_midi
from combwright.comb.layouts import Layout
from combwright.comb.seats import Breath
from combwright.errors import CombwrightError

How = Literal["natural", "bend", "overbend", "missing"]
#: From the easiest to the hardest.
HOWS: Final[tuple[How, ...]] = ("natural", "bend", "overbend", "missing")
POSITIONS: Final = range(1, 13)
_FIFTH: Final = 7
_MIDDLE_C: Final = 60

#: Scales by name, in semitones above their tonic; the octave closes each. The blues scale is the
#: six-note one, the diminished scale the one that starts with a whole tone.
SCALES: Final[Mapping[str, tuple[int, ...]]] = MappingProxyType(
    {
        "major": (0, 2, 4, 5, 7, 9, 11),
        "natural minor": (0, 2, 3, 5, 7, 8, 10),
        "dorian": (0, 2, 3, 5, 7, 9, 10),
        "phrygian": (0, 1, 3, 5, 7, 8, 10),
        "lydian": (0, 2, 4, 6, 7, 9, 11),
        "mixolydian": (0, 2, 4, 5, 7, 9, 10),
        "locrian": (0, 1, 3, 5, 6, 8, 10),
        "harmonic minor": (0, 2, 3, 5, 7, 8, 11),
        "melodic minor ascending": (0, 2, 3, 5, 7, 9, 11),
        "major pentatonic": (0, 2, 4, 7, 9),
        "minor pentatonic": (0, 3, 5, 7, 10),
        "blues": (0, 3, 5, 6, 7, 10),
        "whole tone": (0, 2, 4, 6, 8, 10),
        "diminished": (0, 2, 3, 5, 6, 8, 9, 11),
        "chromatic": tuple(range(12)),
    }
)
_ALIASES: Final = {
    "minor": "natural minor",
    "ionian": "major",
    "aeolian": "natural minor",
    "melodic minor": "melodic minor ascending",
}


class NoSuchScale(CombwrightError):
    """A scale that is not in the list."""

    def __init__(self, name: str) -> None:
        super().__init__(f"{name!r} is no scale: use {', '.join(SCALES)}.")


@dataclass(frozen=True, slots=True)
class Sound:
    """One way to play a note.

    Parameters
    ----------
    midi : int
        The note.
    how : {"natural", "bend", "overbend"}
        How it is got.
    hole : int
        From 1.
    breath : {"blow", "draw"}
        Which way the player breathes.
    semitones : int
        How far the note lies from the higher reed of the hole: below it for a bend, above it for
        an overbend; 0 for a natural note.
    along : int or None
        The note that sounds with it unasked, where both reeds of the hole speak on that breath.
    """

    midi: int
    how: How
    hole: int
    breath: Breath
    semitones: int
    along: int | None = None


@dataclass(frozen=True, slots=True)
class ScaleStep:
    """One note of a scale, how it is got at best, and where (None when it is missing)."""

    midi: int
    how: How
    where: Sound | None


@dataclass(frozen=True, slots=True)
class Position:
    """A scale in one position: 1 to 12, its tonic as a pitch class, its steps over an octave."""

    position: int
    tonic: int
    steps: tuple[ScaleStep, ...]


def sounds(layout: Layout) -> Mapping[int, tuple[Sound, ...]]:
    """Return every note a layout gives, lowest first, with every way to play it.

    Returns
    -------
    mapping of MIDI number to ways
        Easiest first: natural before bent before overbent, notes that sound alone before those
        that bring another along, shallow before deep, low holes before high ones.
    """
    ways: dict[int, list[Sound]] = {}
    for hole in range(1, layout.holes + 1):
        for sound in _of_hole(layout, hole):
            ways.setdefault(sound.midi, []).append(sound)
    return MappingProxyType({m: tuple(sorted(ways[m], key=_ease)) for m in sorted(ways)})


def scale_steps(scale: str) -> tuple[int, ...]:
    """Return the semitones of a scale above its tonic, the tonic's 0 first and no octave.

    Case does not matter, and a hyphen or underscore reads as a space.

    Raises
    ------
    NoSuchScale
        If there is no scale of that name.
    """
    name = " ".join(scale.lower().replace("-", " ").replace("_", " ").split())
    try:
        return SCALES[_ALIASES.get(name, name)]
    except KeyError:
        raise NoSuchScale(scale) from None


def octave_of(
    ways: Mapping[int, tuple[Sound, ...]], tonic: int, *, scale: str = "major"
) -> tuple[ScaleStep, ...]:
    """Return a scale from a tonic (MIDI number) to the tonic above, both included.

    Parameters
    ----------
    ways : mapping
        As `sounds` returns it.

    Raises
    ------
    NoSuchScale
        If there is no scale of that name.
    """
    return tuple(_step(ways, tonic + up) for up in (*scale_steps(scale), 12))


def positions(
    layout: Layout, key_pitch_class: int, *, scale: str = "major"
) -> tuple[Position, ...]:
    """Return a scale in the twelve positions of an instrument, each over its best full octave.

    Parameters
    ----------
    layout : Layout
        In the key it sounds in.
    key_pitch_class : int
        The key's root, C is 0; first position starts there.
    scale : str
        A name from `SCALES`.

    Raises
    ------
    NoSuchScale
        If there is no scale of that name.

    Notes
    -----
    An octave runs from tonic to tonic, both included. Only octaves that lie between the lowest
    and the highest reed are looked at. Taken is the one with the most natural notes; of equal
    ones that with the fewest missing notes; of those the lowest. An instrument that spans no full
    octave from that tonic is judged the same way over every octave that touches its compass, the
    notes beyond it missing.
    """
    scale_steps(scale)
    ways = sounds(layout)
    reeds = [sounding_midi(seat) for seat in layout.seats] or [_MIDDLE_C]
    found = []
    for position in POSITIONS:
        tonic = (key_pitch_class + _FIFTH * (position - 1)) % 12
        octaves = (octave_of(ways, at, scale=scale) for at in _tonics(reeds, tonic))
        found.append(Position(position, tonic, max(octaves, key=_worth)))
    return tuple(found)


def _of_hole(layout: Layout, hole: int) -> Iterator[Sound]:
    reeds = layout.in_hole(hole)
    for reed in reeds:
        others = [other for other in reeds if other != reed and other.breath == reed.breath]
        along = sounding_midi(others[0]) if others else None
        yield Sound(sounding_midi(reed), "natural", hole, reed.breath, 0, along)
    for bend in bends(layout, hole):
        yield Sound(bend.midi, "bend", hole, bend.breath, bend.semitones)
    over = overbend(layout, hole)
    if over is not None:
        yield Sound(over.midi, "overbend", hole, over.breath, 1)


def _ease(sound: Sound) -> tuple[int, bool, int, int, str]:
    rank = HOWS.index(sound.how)
    return rank, sound.along is not None, sound.semitones, sound.hole, sound.breath


def _step(ways: Mapping[int, tuple[Sound, ...]], midi: int) -> ScaleStep:
    best = ways[midi][0] if midi in ways else None
    return ScaleStep(midi, "missing" if best is None else best.how, best)


def _tonics(reeds: list[int], tonic: int) -> list[int]:
    """List where an octave from a pitch class may start, lowest first."""
    low, high = min(reeds), max(reeds)
    touching = [at for at in range(low - 12, high + 1) if at % 12 == tonic]
    return [at for at in touching if low <= at <= high - 12] or touching


def _worth(steps: tuple[ScaleStep, ...]) -> tuple[int, int]:
    """Rate an octave; `max` keeps the first of equal ones, which is the lowest."""
    hows = [step.how for step in steps]
    return hows.count("natural"), -hows.count("missing")
