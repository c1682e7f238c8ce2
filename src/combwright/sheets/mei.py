"""A tune and its tab as MEI, which the engraver reads: one staff, the tab under it as words.

Source: docs/sources.md, [mei-5], the module for common music notation.
"""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from itertools import groupby
from statistics import median
from typing import Final
from xml.sax.saxutils import quoteattr

from combwright.sheets.note_values import Run, Value, runs, values
from combwright.sheets.spelling import (
    Spelled,
    likely_signature,
    moved_signature,
    of_signature,
    spelled,
)
from combwright.sheets.svg import words
from combwright.sheets.written_bars import Bar, Piece, written_tune
from combwright.tunes.tune import WHOLE, Tune

_ACCIDENTALS: Final = {-2: "ff", -1: "f", 0: "n", 1: "s", 2: "x"}
_METRE: Final = re.compile(r"([\d+]{1,12})/(\d{1,3})")
_SYMBOLS: Final = {"C": ("common", 4), "C|": ("cut", 2)}
#: Clefs by the middle of the tune, from the lowest note each is good for.
_CLEFS: Final = ((82, ' clef.dis="8" clef.dis.place="above"'), (55, ""))
_LOW_CLEF: Final = ' clef.dis="8" clef.dis.place="below"'


@dataclass(frozen=True, slots=True)
class Metre:
    """A metre: its attributes at the head of the staff, its bar, and what is beamed together."""

    attributes: str = ""
    bar: int = 0
    beam: int = WHOLE // 4


@dataclass(frozen=True, slots=True)
class Staff:
    """A tune ready to be engraved.

    Parameters
    ----------
    mei : str
        The document.
    heads : tuple of int
        Of every note head in it, `h1` and on, which note of the tune it is of: a note that is tied
        on has several.
    rounded : bool
        Whether times had to be rounded.
    """

    mei: str
    heads: tuple[int, ...]
    rounded: bool


def staff_of(tune: Tune, shift: int, texts: Sequence[str]) -> Staff:
    """Write a tune, moved by semitones, with a text under each note.

    Parameters
    ----------
    tune : Tune
        At least one note.
    shift : int
        Semitones.
    texts : sequence of str
        One a note; an empty one is left out.
    """
    pitches = [note.midi + shift for note in tune.notes]
    given = tune.fifths
    fifths = likely_signature(pitches) if given is None else moved_signature(given, shift)
    metre = metre_of(tune.metre)
    written = written_tune(tune, metre.bar)
    body = _Body([spelled(midi, fifths) for midi in pitches], texts, fifths, metre)
    measures = "".join(body.measures(written.bars))
    signs = f"{abs(fifths)}{'s' if fifths > 0 else 'f'}" if fifths else "0"
    head = (
        f'<scoreDef keysig="{signs}"{metre.attributes}><staffGrp><staffDef n="1" lines="5" '
        f'clef.shape="G" clef.line="2"{_clef(pitches)}/></staffGrp></scoreDef>'
    )
    return Staff(
        '<mei xmlns="http://www.music-encoding.org/ns/mei" meiversion="5.0"><music><body><mdiv>'
        f"<score>{head}<section>{measures}</section></score></mdiv></body></music></mei>",
        tuple(body.heads),
        written.rounded,
    )


def metre_of(text: str) -> Metre:
    """Return what a metre means for the staff; one that cannot be read, nothing."""
    if text in _SYMBOLS:
        symbol, unit = _SYMBOLS[text]
        shown = f' meter.sym="{symbol}" meter.count="{unit}" meter.unit="{unit}"'
        return Metre(shown, WHOLE, WHOLE // 2)
    found = _METRE.fullmatch(text)
    counts = [int(n) for n in found[1].split("+") if n] if found else []
    unit = int(found[2]) if found else 0
    if not counts or not 0 < sum(counts) <= 64 or unit not in (1, 2, 4, 8, 16, 32, 64):
        return Metre()
    bar = sum(counts) * WHOLE // unit
    shown = f' meter.count="{"+".join(map(str, counts))}" meter.unit="{unit}"'
    if len(counts) == 1 and counts[0] % 3 == 0 and unit >= 8:
        return Metre(shown, bar, 3 * WHOLE // unit)
    return Metre(shown, bar, WHOLE // 2 if bar == WHOLE and unit == 4 else WHOLE // 4)


def _clef(pitches: Sequence[int]) -> str:
    middle = median(pitches)
    return next((clef for lowest, clef in _CLEFS if middle >= lowest), _LOW_CLEF)


@dataclass(frozen=True, slots=True)
class _Sign:
    """One note or rest as it is drawn: what of a piece is one value."""

    xml: str
    start: int
    beamed: bool


class _Body:
    """Writes the measures of a tune, and knows which accidentals hold."""

    def __init__(
        self, notes: Sequence[Spelled], texts: Sequence[str], fifths: int, metre: Metre
    ) -> None:
        self.heads: list[int] = []
        self._notes, self._texts, self._fifths, self._metre = notes, texts, fifths, metre
        self._held: dict[tuple[str, int], int] = {}
        self._ties: list[str] = []

    def measures(self, bars: Sequence[Bar]) -> Iterator[str]:
        for n, bar in enumerate(bars, start=1):
            self._held, self._ties = {}, []
            after = "end" if n == len(bars) else "single" if bar.line else "invis"
            layer = self._layer(bar, first=n == 1)
            yield (
                f'<measure right="{after}"><staff n="1"><layer n="1">{layer}</layer>'
                f"</staff>{''.join(self._ties)}</measure>"
            )

    def _layer(self, bar: Bar, *, first: bool) -> str:
        if bar.length == self._metre.bar and all(piece.note is None for piece in bar.pieces):
            return "<mRest/>"
        # An upbeat and what follows a repeat within a bar are beamed as the end of a whole bar.
        late = 0
        if bar.length < self._metre.bar and (first or 2 * bar.length <= self._metre.bar):
            late = self._metre.bar - bar.length
        parts: list[str] = []
        plain: list[_Sign] = []
        for run in runs([(piece.start, piece.length) for piece in bar.pieces]):
            signs = self._signs(bar.pieces, run, late)
            if run.many == 1:
                plain += signs
                continue
            parts += self._beams(plain)
            plain = []
            inside = "".join(self._beams(signs, together=True))
            parts.append(f'<tuplet num="{run.many}" numbase="{run.usual}">{inside}</tuplet>')
        return "".join([*parts, *self._beams(plain)])

    def _signs(self, pieces: Sequence[Piece], run: Run, late: int) -> list[_Sign]:
        found = []
        for piece in pieces[run.first : run.last]:
            now = piece.start + late
            parted = _parted(piece.length, run)
            for n, (duration, short, lasts) in enumerate(parted):
                xml = f"<rest{duration}/>"
                if piece.note is not None:
                    begins, ends = piece.first and n == 0, piece.last and n + 1 == len(parted)
                    xml = self._note(piece.note, duration, begins=begins, ends=ends)
                found.append(_Sign(xml, now, piece.note is not None and short))
                now += lasts
        return found

    def _beams(self, signs: Sequence[_Sign], *, together: bool = False) -> Iterator[str]:
        def place(sign: _Sign) -> tuple[bool, int]:
            return sign.beamed, 0 if together else sign.start // self._metre.beam

        for (beamed, _), found in groupby(signs, key=place):
            inside = [sign.xml for sign in found]
            text = "".join(inside)
            yield f"<beam>{text}</beam>" if beamed and len(inside) > 1 else text

    def _note(self, number: int, duration: str, *, begins: bool, ends: bool) -> str:
        note = self._notes[number]
        self.heads.append(number)
        head = len(self.heads)
        if not ends:
            self._ties.append(f'<tie startid="#h{head}" endid="#h{head + 1}"/>')
        verse = ""
        if begins and self._texts[number]:
            verse = f'<verse n="1">{words("syl", {}, self._texts[number])}</verse>'
        return (
            f'<note xml:id="h{head}"{duration} pname="{note.letter.lower()}" '
            f'oct="{note.octave}"{self._accidental(note, begins=begins)}>{verse}</note>'
        )

    def _accidental(self, note: Spelled, *, begins: bool) -> str:
        place = note.letter, note.octave
        holds = self._held.get(place, of_signature(note.letter, self._fifths))
        sign = quoteattr(_ACCIDENTALS[note.alter])
        if note.alter == holds or not begins:
            # What is tied over a bar line keeps its accidental and does not set it anew.
            return f" accid.ges={sign}" if note.alter else ""
        self._held[place] = note.alter
        return f" accid={sign}"


def _parted(length: int, run: Run) -> tuple[tuple[str, bool, int], ...]:
    """Return the values of a length: each as attributes, whether it can be beamed, its grains."""
    return _parted_as(length, run.many, run.usual)


@cache
def _parted_as(length: int, many: int, usual: int) -> tuple[tuple[str, bool, int], ...]:
    return tuple(
        (_duration(value), value.base <= Fraction(1, 8), round(value.length * WHOLE * usual / many))
        for value in values(Fraction(length * many, WHOLE * usual))
    )


def _duration(value: Value) -> str:
    dots = f' dots="{value.dots}"' if value.dots else ""
    base = "breve" if value.base > 1 else str(1 / value.base)
    return f' dur="{base}"{dots}'
