"""What one chamber gives beyond its plain notes: bends, an overbend, or an honest remark.

Where a blow and a draw reed share a chamber, the higher of the two bends, in semitone steps, down
to one semitone above the lower; an overbend sounds one semitone above the higher reed, on the
other breath. The two reeds alone decide it, so no table of bends is kept: a plate turned over or
moved brings its own. That the bend lies between the two notes and the overbend outside them is
measured, [bahnson-1998]; that the steps end exactly a semitone off is common practice.

Chambers out of the ordinary promise less, and `remark` says so: a lone plate, two reeds of one
breath, two reeds less than a tone apart. Valves are left out.
"""

from dataclasses import dataclass
from fractions import Fraction
from typing import Final, Literal

from combwright.comb.layouts import Layout
from combwright.comb.seats import Breath, Seat
from combwright.notes.names import note_name
from combwright.notes.pitch import STANDARD_A4_HZ, hertz

OverbendKind = Literal["overblow", "overdraw"]
#: The breath an overbend is played on.
OVERBEND_BREATH: Final[dict[OverbendKind, Breath]] = {"overblow": "blow", "overdraw": "draw"}
#: The widest chamber of the standard layout, in semitones; deeper bends are unproven.
_WIDEST_USUAL: Final = 4
#: The simple ratio an interval of so many semitones lies near. A semitone beats as a mistuned
#: unison would; a tone, a tritone and the sevenths are too rough for a beat to be heard.
_NEAR_RATIOS: Final = {
    0: Fraction(1),
    1: Fraction(1),
    3: Fraction(6, 5),
    4: Fraction(5, 4),
    5: Fraction(4, 3),
    7: Fraction(3, 2),
    8: Fraction(8, 5),
    9: Fraction(5, 3),
    12: Fraction(2),
}


@dataclass(frozen=True, slots=True)
class Bend:
    """A note got by pulling a reed down.

    Parameters
    ----------
    hole : int
        From 1.
    breath : {"blow", "draw"}
        The breath of the reed that bends, the higher of its chamber.
    semitones : int
        How far below that reed's own note, 1 or more.
    midi : int
        The note it gives.
    """

    hole: int
    breath: Breath
    semitones: int
    midi: int


@dataclass(frozen=True, slots=True)
class Overbend:
    """A note above both reeds of a hole: an overblow or an overdraw."""

    hole: int
    kind: OverbendKind
    midi: int

    @property
    def breath(self) -> Breath:
        """The breath it is played on, the lower reed's own."""
        return OVERBEND_BREATH[self.kind]


def sounding_midi(seat: Seat) -> int:
    """Return the note nearest to what a seat sounds, its own cents counted.

    So a reed written F5+100 is an F#5; up to half a semitone of cents leaves the note as written.
    """
    return seat.midi + round(seat.cents / 100)


def bends(layout: Layout, hole: int) -> tuple[Bend, ...]:
    """List the semitone bends of a hole, shallowest first.

    Raises
    ------
    NoSuchHole
        If the layout has no such hole.

    Notes
    -----
    The rule has no depth limit of its own: see `remark` for chambers wider than usual.
    Source: docs/sources.md, [bahnson-1998].
    """
    pair = _low_and_high(layout, hole)
    if pair is None:
        return ()
    low, high = pair
    top = sounding_midi(high)
    depths = range(1, top - sounding_midi(low))
    return tuple(Bend(hole, high.breath, depth, top - depth) for depth in depths)


def overbend(layout: Layout, hole: int) -> Overbend | None:
    """Return the overbend of a hole, or None where there is no higher and lower reed.

    Raises
    ------
    NoSuchHole
        If the layout has no such hole.

    Notes
    -----
    Source: docs/sources.md, [bahnson-1998], for a pitch outside the interval of the two reeds;
    "one semitone above the higher" is common practice.
    """
    pair = _low_and_high(layout, hole)
    if pair is None:
        return None
    high = pair[1]
    kind: OverbendKind = "overblow" if high.breath == "draw" else "overdraw"
    return Overbend(hole, kind, sounding_midi(high) + 1)


def beat_hz(low: Seat, high: Seat, *, a4_hz: float = STANDARD_A4_HZ) -> float | None:
    """Return how fast two reeds beat, tuned as written, or None for an interval too rough for it.

    Parameters
    ----------
    low, high : Seat
        In either order; their own cents count, a temperament does not.
    a4_hz : float
        Frequency of A4.

    Returns
    -------
    float or None
        Hertz: |q f_high - p f_low| for the nearest simple ratio p:q up to an octave, a semitone
        taken as a unison.

    Notes
    -----
    Source: docs/sources.md, [helmholtz].
    """
    low_hz, high_hz = sorted(float(hertz(s.midi, s.cents, a4_hz=a4_hz)) for s in (low, high))
    ratio = _NEAR_RATIOS.get(abs(sounding_midi(high) - sounding_midi(low)))
    if ratio is None:
        return None
    return abs(ratio.denominator * high_hz - ratio.numerator * low_hz)


def remark(layout: Layout, hole: int) -> str:
    """Return one line on what is out of the ordinary in a hole, or "" where nothing is.

    Raises
    ------
    NoSuchHole
        If the layout has no such hole.
    """
    reeds = layout.in_hole(hole)
    if not reeds:
        return f"Hole {hole} is empty: it gives no note."
    if len(reeds) == 1:
        only = note_name(sounding_midi(reeds[0]))
        return (
            f"Hole {hole} holds only {only} on {reeds[0].breath}: nothing pulls a lone reed, so it "
            "bends little, no semitone is promised, and there is no overbend."
        )
    low, high = sorted(reeds, key=_height)
    if low.breath == high.breath:
        return _two_of_one_breath(low, high)
    return _ordinary_pair(low, high)


def _two_of_one_breath(low: Seat, high: Seat) -> str:
    notes = f"{note_name(sounding_midi(low))} and {note_name(sounding_midi(high))}"
    rate = beat_hz(low, high)
    beats = "" if rate is None else f" Tuned as written they beat at {rate:.2f} Hz."
    return (
        f"Hole {low.hole} sounds {notes} together on {low.breath}; they do not pull each other: "
        f"no bends, no overbend.{beats}"
    )


def _ordinary_pair(low: Seat, high: Seat) -> str:
    wide = sounding_midi(high) - sounding_midi(low)
    names = note_name(sounding_midi(low)), note_name(sounding_midi(high))
    if wide == 0:
        return (
            f"Hole {low.hole} gives {names[0]} on both breaths: neither reed is the higher, so no "
            "bend and no overbend is promised."
        )
    if wide == 1:
        return (
            f"Hole {low.hole} holds {names[0]} and {names[1]}, a semitone apart: {high.breath} "
            "bends, but by less than a semitone."
        )
    if wide > _WIDEST_USUAL:
        return (
            f"Hole {low.hole} holds {names[0]} and {names[1]}, {wide} semitones apart: the bends "
            f"deeper than {_WIDEST_USUAL - 1} semitones follow the rule but are unproven."
        )
    return ""


def _height(seat: Seat) -> float:
    return 100 * seat.midi + seat.cents


def _low_and_high(layout: Layout, hole: int) -> tuple[Seat, Seat] | None:
    """Return the two reeds that pull each other, unless they are level or of one breath."""
    reeds = layout.in_hole(hole)
    if len({reed.breath for reed in reeds}) < 2:
        return None
    low, high = sorted(reeds, key=sounding_midi)
    return None if sounding_midi(low) == sounding_midi(high) else (low, high)
