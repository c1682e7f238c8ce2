"""The music of ABC: fields, voices, and the pieces of lines handed to the voice that is read.

What is read follows the standard 2.1, [abc]. What it leaves open or to the program is decided so:
an accidental holds for its letter in all octaves to the end of the bar, unless the file's
`%%propagate-accidentals` says otherwise; the first voice is read and of `&` overlays the first;
of a chord the top note; grace notes, decorations, macros, slurs, words and chord names are left
out.
"""

import re
from typing import Final

from combwright.tunes.abc_keys import AbcKey, metre_of, read_key, read_metre, read_shift, sharps_of
from combwright.tunes.abc_tokens import NOTES, TOKEN, bar_events, read_turns
from combwright.tunes.abc_voice import Voice
from combwright.tunes.unfolding import Event

_JUMPS: Final = re.compile(r"!(D\.?[CS]\.?.*|da(capo|segno|coda)|fine|segno|coda)!", re.IGNORECASE)
#: Where a line that follows a bar begins with an ending whose bracket was forgotten: `2 G3 |`.
_BARE_ENDING: Final = re.compile(r"\s*([1-9])(?=[\sA-Ga-gz(\"{~])")
_LONE_COLON: Final = re.compile(r"\s*:(?![:|\]])")
_BAR_FOLLOWS: Final = re.compile(r"\s*(?:[:|\]%\\]|$)")
_ENDS_IN_BAR: Final = re.compile(r"[|:]\s*\\?\s*(%.*)?$")
_OWN_LETTER: Final = re.compile(r"\s*([H-Wh-w~])\s*=")


class Music:
    """The state of reading one tune.

    Attributes
    ----------
    parts : list of (name, events)
        As they stand in the music; "" is what stands before the first P:.
    body : bool
        Whether K: has been seen, after which music may come.
    remarks : dict of kind to line
        What was odd, each kind once.
    fifths : int
        The sharps of the first key signature, flats below 0.
    metre : str
        The first metre; empty where none is given.
    """

    def __init__(self) -> None:
        self.parts: list[tuple[str, list[Event]]] = [("", [])]
        self.remarks: dict[str, str] = {}
        self.body = False
        self.fifths = 0
        self.metre = ""
        self._metre_given = ""
        self._voice = Voice(self.parts[0][1])
        self._name: str | None = None
        self._shifts: dict[str, int] = {}  # of voices, as V: says
        self._key_shift = 0
        self._silent = False  # another voice
        self._hidden = 0  # bars of an overlay
        self._after_bar = False  # whether the line before ended with one
        self._letters: set[str] = set()
        self._breaks = self._plus = False  # whether ! breaks lines, + decorates

    def directive(self, text: str) -> None:
        """Take an instruction: an I: field, or a line that begins with two percent signs."""
        name, _, value = text.strip().partition(" ")
        if name == "propagate-accidentals" and value.strip():
            self._voice.carry = value.split()[0]
        elif name == "linebreak":
            self._breaks = self._plus = "!" in value
        elif name == "decoration":
            self._plus = "+" in value

    def field(self, letter: str, text: str, row: int) -> None:
        """Take a field, on a line of its own or within the music."""
        if letter == "P" and self.body:
            self._begin_part(text.strip()[:1])
        elif letter == "V":
            self._enter_voice(text)
        elif self._silent:
            return
        elif letter == "K":
            self._key(text, row)
        elif letter == "M":
            self._voice.metre = self._metre_given = text
            if read_metre(text) is None:
                self._remark("metre", f"row {row}: the metre {text.strip()[:30]!r} is not known")
        elif letter == "L" and not self._voice.unit(text):
            self._remark("unit", f"row {row}: the unit length {text.strip()[:30]!r} is not known; "
                         "1/8 would be right")  # fmt: skip
        elif letter == "I":
            self.directive(text)
        elif letter == "U" and (own := _OWN_LETTER.match(text)):
            self._letters.add(own[1])
        elif letter == "m":
            self._remark("macro", f"row {row}: macros are not played out")

    def _key(self, text: str, row: int) -> None:
        voice = self._voice
        voice.key = read_key(text, voice.key if self.body else None)
        if not voice.key.known:
            self._remark("key", f"row {row}: the key {text.strip()[:30]!r} is not known; "
                         f"read as {_signature(voice.key)}")  # fmt: skip
        shift = read_shift(text)
        if shift is not None:
            voice.shift = self._key_shift = shift
        if not self.body:
            self.body = True
            voice.shift = next(iter(self._shifts.values()), self._key_shift)
            self.fifths = sharps_of(voice.key, voice.shift)
            self.metre = metre_of(self._metre_given)
            voice.begin()

    def _begin_part(self, name: str) -> None:
        self.parts.append((name, []))
        self._voice.events = self.parts[-1][1]

    def _enter_voice(self, text: str) -> None:
        name = text.split()[0] if text.split() else ""
        shift = read_shift(text)
        if shift is not None:
            self._shifts[name] = shift
        if not self.body:
            return
        first = self._name is None
        if first:
            # Notes before any V: are the first voice's, if there are some.
            self._name = "" if any(events for _, events in self.parts) else name
        self._silent = name != self._name
        if self._silent:
            self._remark("voice", f"only the first voice is read, not {name[:20]!r}")
        elif first or shift is not None:
            self._voice.shift = self._shifts.get(name, self._key_shift)

    def line(self, text: str, row: int) -> None:
        """Read one line of music."""
        voice = self._voice
        for found in TOKEN.finditer(text, 0 if self._silent else self._head_of_line(text)):
            kind = found.lastgroup
            if kind is None:
                continue
            if kind == "note":
                if not (self._silent or self._hidden):
                    voice.note(*found.group("sign", "pitch", "length"))
            elif kind == "comment":
                return
            elif kind == "value":
                self.field(found["field"], found["value"], row)
            elif not self._silent:
                self._other(kind, found, row)

    def _head_of_line(self, text: str) -> int:
        """Take an ending that lost its bracket, or a start that lost its bar, and pass it."""
        bare = _BARE_ENDING.match(text) if self._after_bar else None
        colon = _LONE_COLON.match(text)
        self._after_bar = _ENDS_IN_BAR.search(text) is not None
        if bare:
            self._voice.events.append(Event("ending", turns=(int(bare[1]),)))
            return bare.end()
        if colon:
            self._voice.events.append(Event("start"))
            return colon.end()
        return 0

    def _other(self, kind: str, found: re.Match[str], row: int) -> None:
        voice = self._voice
        if kind == "bar":
            self._bar(found, row)
        elif kind == "overlay":
            self._hidden = max(self._hidden, len(found["overlay"]))
        elif self._hidden:
            return
        elif kind == "rests":
            voice.rest(found["rest"], found["rests"])
        elif kind == "ending":
            voice.events.append(Event("ending", turns=read_turns(found["ending"])))
        elif kind == "tuplet":
            if voice.in_tuplet:
                self._remark(
                    "tuplet", f"row {row}: a tuplet begins within another, which ends there"
                )
            voice.tuplet(found["tuplet"][1:])
        elif kind == "broken":
            voice.broken(found["broken"])
        elif kind == "tie":
            voice.tie()
        elif kind == "open":
            self._end_chord(row)
            voice.open_chord()
        elif kind == "close":
            voice.close_chord(found["times"])
        else:
            self._rare(kind, found, row)

    def _rare(self, kind: str, found: re.Match[str], row: int) -> None:
        if kind == "old" and not self._plus:
            self._voice.open_chord()
            for sign, pitch, length in NOTES.findall(found["old"]):
                self._voice.note(sign or None, pitch, length)
            self._voice.close_chord("")
        elif kind == "decoration":
            self._decoration(found, row)
        elif kind == "unclosed":
            self._remark("unclosed", f"row {row}: what follows {found[0][0]} is never closed "
                         "and was left out")  # fmt: skip
        elif kind == "odd":
            self._odd(found, row)

    def _decoration(self, found: re.Match[str], row: int) -> None:
        if self._breaks:  # the ! are ends of lines, and music stands between them
            self.line(found[0][1:-1], row)
        elif _JUMPS.fullmatch(found[0]):
            self._remark("jump", "jumps (da capo, dal segno, coda) are not followed")

    def _odd(self, found: re.Match[str], row: int) -> None:
        letter = found[0]
        if letter in self._letters:
            return
        if letter == ":" and _BAR_FOLLOWS.match(found.string, found.end()):
            self._voice.events.append(Event("end"))
        else:
            self._remark("letter", f"row {row}: {letter!r} is no music and was left out")

    def _bar(self, found: re.Match[str], row: int) -> None:
        self._end_chord(row)
        self._hidden = max(0, self._hidden - 1)
        self._voice.bar()
        self._voice.events += bar_events(found["signs"], found["turns"])

    def _end_chord(self, row: int) -> None:
        if self._voice.in_chord:
            self._remark(
                "chord", f"row {row}: a chord is never closed; its notes are read in order"
            )
            self._voice.give_up_chord()

    def end(self) -> None:
        """Take the end of the tune."""
        self._voice.give_up_chord()

    def _remark(self, kind: str, text: str) -> None:
        self.remarks.setdefault(kind, text)


def _signature(key: AbcKey) -> str:
    signs = [f"{note}{'#' if by > 0 else 'b'}" for note, by in sorted(key.signs.items()) if by]
    return f"{', '.join(signs)}" if signs else "without sharps and flats"
