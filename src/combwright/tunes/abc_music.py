"""The music lines of ABC: notes, rests, chords, tuplets, broken rhythm, ties, bars and endings.

What is read follows the standard 2.1, [abc]. What it leaves open or to the program is decided so:
an accidental holds for its letter in all octaves to the end of the bar, unless the file's
`%%propagate-accidentals` says otherwise; the first voice is read and of `&` overlays the first;
of a chord the top note; grace notes, decorations, slurs, words and chord names are left out.
"""

import re
from fractions import Fraction
from typing import Final

from combwright.tunes.abc_keys import (
    STEPS,
    AbcKey,
    is_compound,
    metre_of,
    read_key,
    read_length,
    sharps_of,
    usual_length,
)
from combwright.tunes.tune import MOST_NOTES, BadTune, grains
from combwright.tunes.unfolding import Event

_TOKEN: Final = re.compile(
    r"""(?P<note>(?P<sign>\^\^|\^|__|_|=)?(?P<letter>[A-Ga-g])(?P<octave>[,']*)
            (?P<length>[\d/]*))
      | (?P<rest>[zxZX])(?P<rests>[\d/]*)
      | (?P<skip>"[^"]*"|![^!\n]*!|\{[^{}]*\}|\+[^+\s\d]*\+|\[[IRrNwmUQ]:[^\[\]]*\]
            |[\s`\\$*.~HIJLMNOPSTuvW;)yt]+)
      | \[(?P<field>[KLMPV]):(?P<value>[^\[\]]*)\]
      | (?P<bar>[:|]*\|[|\]:]*\s*(?:\[?\d[\d,.\-]*)?|\[\|[\]:]*
            |::+\s*(?:\[?\d[\d,.\-]*)?|:(?=\s*$|\s*[|:]))
      | \[(?P<ending>\d[\d,.\-]*)
      | \((?P<tuplet>[2-9](?::\d?(?::\d?)?)?)
      | (?P<slur>\()
      | (?P<broken>>+|<+)
      | (?P<tie>-)
      | (?P<open>\[)
      | (?P<close>\](?P<closelength>[\d/]*))
      | (?P<overlay>&)
      | (?P<comment>%.*)""",
    re.VERBOSE,
)
_LETTERS: Final = {c: STEPS[c.upper()] + (12 if c.islower() else 0) for c in "CDEFGABcdefgab"}
_SIGNS: Final = {"^": 1, "^^": 2, "_": -1, "__": -2, "=": 0}
_USUAL_TIMES: Final = {2: 3, 3: 2, 4: 3, 6: 2, 8: 3}
_ONE: Final = Fraction(1)


class Music:
    """The state of reading one tune.

    Attributes
    ----------
    parts : dict of part name to events
        "" is what stands before the first P: of the music.
    body : bool
        Whether K: has been seen, after which music may come.
    remarks : dict of kind to line
        What was odd, each kind once.
    """

    def __init__(self) -> None:
        self.parts: dict[str, list[Event]] = {"": []}
        self.events = self.parts[""]
        self.remarks: dict[str, str] = {}
        self.body = False
        self.fifths = 0
        self.metre = ""
        self._key = AbcKey()
        self._metre = "C"
        self._metre_given = ""
        self._unit: Fraction | None = None
        self._carry = "pitch"
        self._voice: str | None = None
        self._silent = False  # another voice, or an overlay
        self._hidden = False
        self._count = 0
        self._bar()
        self._tuplet: tuple[int, Fraction] = (0, _ONE)
        self._broken = _ONE
        self._chord: list[tuple[int, Fraction]] | None = None
        self._chord_tied = False

    def directive(self, text: str) -> None:
        """Take a line that begins with two percent signs."""
        words = text.split()
        if words[:1] == ["propagate-accidentals"] and words[1:2]:
            self._carry = words[1]

    def field(self, letter: str, text: str, row: int) -> None:
        """Take a field, on a line of its own or within the music."""
        if letter == "K":
            self._key = read_key(text, self._key if self.body else None)
            if not self._key.known:
                self._remark("key", f"row {row}: the key {text.strip()[:30]!r} is not known; "
                             "read without sharps and flats")  # fmt: skip
            if not self.body:
                self.fifths, self.metre = sharps_of(self._key), metre_of(self._metre_given)
            self.body = True
        elif letter == "M":
            self._metre = self._metre_given = text
        elif letter == "L":
            self._unit = read_length(text) or self._unit
        elif letter == "P" and self.body:
            name = text.strip()[:1]
            self.events = self.parts.setdefault(name, [])
        elif letter == "V" and self.body:
            self._enter_voice(text.split()[0] if text.split() else "")

    def line(self, text: str, row: int) -> None:
        """Read one line of music."""
        at = 0
        match = _TOKEN.match
        while at < len(text):
            found = match(text, at)
            if found is None:
                self._remark("letter", f"row {row}: {text[at]!r} is no music and was left out")
                at += 1
                continue
            at = found.end()
            kind = found.lastgroup
            if kind == "comment":
                break
            if found["note"]:
                self._note(found)
            elif kind not in ("skip", "slur"):
                self._other(kind or "", found, row)

    def _other(self, kind: str, found: re.Match[str], row: int) -> None:
        if found["rest"]:
            self._rest(found["rest"], found["rests"])
        elif found["field"]:
            self.field(found["field"], found["value"], row)
        elif kind == "bar":
            self._bar_line(found["bar"])
        elif kind == "ending":
            self._add(Event("ending", turns=_turns(found["ending"])))
        elif kind == "tuplet":
            self._begin_tuplet(found["tuplet"])
        elif kind == "broken":
            self._break(found["broken"])
        elif kind == "tie":
            self._tie()
        elif kind == "open":
            self._chord = []
        elif found["close"]:
            self._close_chord(found["closelength"])
        elif kind == "overlay":
            self._hidden = True

    def _note(self, found: re.Match[str]) -> None:
        sign, letter, octave, length = found.group("sign", "letter", "octave", "length")
        above = octave.count("'") - octave.count(",")
        midi = 60 + _LETTERS[letter] + 12 * above + self._key.shift
        midi += self._accidental(sign, letter.upper(), midi // 12)
        if self._chord is not None:
            self._chord.append((midi, _times(length)))
        else:
            self._sound("note", midi, _times(length))

    def _accidental(self, sign: str | None, letter: str, octave: int) -> int:
        place = letter if self._carry == "pitch" else f"{letter}{octave}"
        if sign is not None:
            if self._carry != "not":
                self._accidentals[place] = _SIGNS[sign]
            return _SIGNS[sign]
        if place in self._accidentals:
            return self._accidentals[place]
        return self._key.signs.get(letter, 0)

    def _sound(self, kind: str, midi: int, times: Fraction) -> None:
        if self._silent or self._hidden:
            return
        left, ratio = self._tuplet
        if left:
            times *= ratio
            self._tuplet = (left - 1, ratio)
        if self._broken is not _ONE:
            times *= self._broken
            self._broken = _ONE
        unit = self._unit or usual_length(self._metre)
        length = grains(unit * times)
        if kind == "note":
            self._count += 1
            if self._count > MOST_NOTES:
                raise BadTune(f"it has more than {MOST_NOTES:,} notes; part it into tunes")
        self._last = len(self.events)
        self.events.append(Event("note" if kind == "note" else "rest", length, midi))

    def _rest(self, kind: str, length: str) -> None:
        if kind in "zx":
            self._sound("rest", 0, _times(length))
        else:
            unit = self._unit or usual_length(self._metre)
            self._sound("rest", 0, _times(length) * _bar_length(self._metre) / unit)

    def _close_chord(self, length: str) -> None:
        notes, self._chord = self._chord, None
        if notes:
            self._sound("note", max(midi for midi, _ in notes), notes[0][1] * _times(length))
            if self._chord_tied:
                self._tie()
        self._chord_tied = False

    def _tie(self) -> None:
        if self._chord is not None:
            self._chord_tied = True
        elif not (self._silent or self._hidden) and self.events:
            last = self.events[-1]
            if last.kind == "note":
                self.events[-1] = Event("note", last.length, last.midi, tied=True)

    def _begin_tuplet(self, text: str) -> None:
        numbers = [int(n) if n else 0 for n in text.split(":")] + [0, 0]
        size = numbers[0]
        usual = _USUAL_TIMES.get(size, 3 if is_compound(self._metre) else 2)
        self._tuplet = (numbers[2] or size, Fraction(numbers[1] or usual, size))

    def _break(self, marks: str) -> None:
        """Lengthen one of two notes by what the other loses."""
        if self._silent or self._hidden or not self.events:
            return
        short = Fraction(1, 2 ** min(len(marks), 6))
        first, second = (2 - short, short) if marks[0] == ">" else (short, 2 - short)
        last = self.events[-1]
        if last.kind in ("note", "rest"):
            length = round(last.length * first)
            self.events[-1] = Event(last.kind, length, last.midi, last.tied)
            self._broken = second

    def _bar_line(self, text: str) -> None:
        self._bar()
        signs = re.sub(r"\s*\[?\d.*", "", text).strip()
        ending = text[len(signs) :].strip().lstrip("[")
        both = set(signs) == {":"} or signs[0] == signs[-1] == ":"
        if both:
            self._add(Event("end"))
            self._add(Event("start"))
        elif signs.endswith(":") and len(signs) > 1:
            self._add(Event("start"))
        elif signs.startswith(":"):
            self._add(Event("end", turns=(signs.count(":") + 1,)))
        else:
            self._add(Event("double" if len(signs) > 1 else "bar"))
        if ending:
            self._add(Event("ending", turns=_turns(ending)))

    def _bar(self) -> None:
        self._accidentals: dict[str, int] = {}
        self._hidden = False

    def _add(self, event: Event) -> None:
        if not self._silent:
            self.events.append(event)

    def _enter_voice(self, name: str) -> None:
        if self._voice is None:
            # Notes before any V: are the first voice's, if there are some.
            self._voice = name if not self.events else ""
        self._silent = name != self._voice
        self._bar()
        if self._silent:
            self._remark("voice", f"only the first voice is read, not {name[:20]!r}")

    def _remark(self, kind: str, text: str) -> None:
        self.remarks.setdefault(kind, text)


def _times(text: str) -> Fraction:
    """Read the length of a note in units: 3, 3/2, /2, /, //."""
    if not text:
        return _ONE
    head, *rest = text.split("/")
    top = int(head[:6]) if head else 1
    bottom = 1
    for part in rest:
        bottom *= int(part[:6]) if part else 2
    # No note is a thousand units long, or a thousandth of one.
    return Fraction(min(top, 1000), max(1, min(bottom, 1024)))


def _turns(text: str) -> tuple[int, ...]:
    """Read the turns of an ending: 1, 1,3, 1-3."""
    turns: list[int] = []
    for part in re.split(r"[,.]", text):
        ends = [int(n[:2]) for n in part.split("-") if n]
        if ends:
            turns += range(ends[0], min(ends[-1], ends[0] + 20) + 1)
    return tuple(sorted({max(1, turn) for turn in turns})) or (1,)


def _bar_length(metre: str) -> Fraction:
    found = re.search(r"(\d{1,3})\s*/\s*(\d{1,3})", metre)
    return Fraction(int(found[1]), int(found[2])) if found and int(found[2]) else _ONE
