"""The voice of a tune that is read: its notes with their lengths, as the music in ABC says them.

Lengths are whole numbers of grains. Tuplets follow [abc] section 4.13, broken rhythm 4.4, ties
4.11, chords 4.17; accidentals 4.2 and 11.3.
"""

from fractions import Fraction
from typing import Final

from combwright.tunes.abc_keys import AbcKey, is_compound, read_length, read_metre, usual_length
from combwright.tunes.abc_tokens import ALTERS, lasting, natural, scaled, times
from combwright.tunes.tune import MOST_NOTES, BadTune, grains
from combwright.tunes.unfolding import Event

_ONE: Final = Fraction(1)
_USUAL_TIMES: Final = {2: 3, 3: 2, 4: 3, 6: 2, 8: 3}


class Voice:
    """The state of reading one voice.

    Attributes
    ----------
    events : list of Event
        Where the next note goes.
    key : AbcKey
        The signature in force.
    carry : str
        How far an accidental holds: `pitch` for all octaves, `octave` for its own, or `not`.
    shift : int
        Semitones by which every note is moved.
    """

    def __init__(self, events: list[Event]) -> None:
        self.events = events
        self.key = AbcKey()
        self.carry = "pitch"
        self.shift = 0
        self.metre = "none"
        self._unit = 0
        self._count = 0
        self._alters: dict[str, int] = {}
        self._tied: tuple[str, int] | None = None  # pitch as written, and as it sounds
        self._left, self._ratio = 0, _ONE  # notes left of a tuplet
        self._broken: Fraction | None = None
        self._chord: list[tuple[int | None, Fraction]] | None = None
        self._chord_tied = False

    @property
    def in_chord(self) -> bool:
        """Whether a chord is open."""
        return self._chord is not None

    @property
    def in_tuplet(self) -> bool:
        """Whether a tuplet wants more notes."""
        return self._left > 0

    def unit(self, text: str) -> bool:
        """Take the length of a note with no number; say whether it could be read."""
        length = read_length(text)
        if length is not None:
            self._unit = grains(length)
        return length is not None

    def begin(self) -> None:
        """Take what the header says; a metre in the music changes the unit no more."""
        if not self._unit:
            self._unit = grains(usual_length(self.metre))

    def note(self, sign: str | None, pitch: str, length: str) -> None:
        """Take a note as it is written."""
        midi, letter = natural(pitch)
        tied = self._tied
        self._tied = None
        if sign is not None:
            alter = ALTERS[sign]
            if self.carry != "not":
                self._alters[letter if self.carry == "pitch" else pitch] = alter
        elif tied is not None and tied[0] == pitch:
            alter = tied[1] - midi
        else:
            place = letter if self.carry == "pitch" else pitch
            alter = self._alters[place] if place in self._alters else self.key.signs.get(letter, 0)
        self._last = pitch, midi + alter
        midi += alter + self.shift
        if self._chord is not None:
            self._chord.append((midi, times(length)))
        else:
            self._sound(midi, lasting(self._unit, length) if length else self._unit)

    def rest(self, kind: str, length: str) -> None:
        """Take a rest, of units or of bars."""
        if self._chord is not None:
            self._chord.append((None, times(length)))
            return
        whole = self._unit if kind in "zx" else grains(read_metre(self.metre) or _ONE)
        self._sound(None, lasting(whole, length))

    def _sound(self, midi: int | None, length: int) -> None:
        if self._left or self._broken is not None:
            length = self._stretched(length)
        if midi is None:
            self.events.append(Event("rest", length))
            return
        self._count += 1
        if self._count > MOST_NOTES:
            raise BadTune(f"it has more than {MOST_NOTES:,} notes; part it into tunes")
        self.events.append(Event("note", length, midi))

    def _stretched(self, length: int) -> int:
        if self._left:
            length = scaled(length, self._ratio)
            self._left -= 1
        if self._broken is not None:
            length = scaled(length, self._broken)
            self._broken = None
        return length

    def open_chord(self) -> None:
        """Begin a chord."""
        self._chord = []

    def close_chord(self, length: str) -> None:
        """End a chord: its top note sounds, as long as its first."""
        notes, self._chord = self._chord, None
        if notes:
            tops = [midi for midi, _ in notes if midi is not None]
            whole = scaled(self._unit, notes[0][1] * times(length))
            self._sound(max(tops, default=None), whole)
            if self._chord_tied:
                self.tie()
        self._chord_tied = False

    def give_up_chord(self) -> None:
        """Play what stands in a chord that was never closed one after the other."""
        notes, self._chord, self._chord_tied = self._chord or [], None, False
        for midi, length in notes:
            self._sound(midi, scaled(self._unit, length))

    def tie(self) -> None:
        """Tie the note before to the next."""
        if self._chord is not None:
            self._chord_tied = True
        elif self.events and self.events[-1].kind == "note":
            self.events[-1] = self.events[-1]._replace(tied=True)
            self._tied = self._last

    def tuplet(self, text: str) -> None:
        """Begin a tuplet: (3, (3:2, (3:2:4, (3::2."""
        size, into, count = [int(n) if n else 0 for n in [*text.split(":"), "", ""][:3]]
        usual = _USUAL_TIMES.get(size, 3 if is_compound(self.metre) else 2)
        self._left, self._ratio = count or size, Fraction(into or usual, size)

    def broken(self, marks: str) -> None:
        """Lengthen one of two notes by what the other loses."""
        if not self.events or self.events[-1].kind not in ("note", "rest"):
            return
        short = Fraction(1, 2 ** min(len(marks), 6))
        first, second = (2 - short, short) if marks[0] == ">" else (short, 2 - short)
        last = self.events[-1]
        self.events[-1] = last._replace(length=scaled(last.length, first))
        self._broken = second

    def bar(self) -> None:
        """Let accidentals end."""
        if self._alters:
            self._alters = {}
