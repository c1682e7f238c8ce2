"""MusicXML: the first voice of the first part, as [musicxml] says, repeats and endings unfolded.

Of a chord the top note is taken; grace, cue and unpitched notes are left out; a part written in
another key than it sounds is read as it sounds. Jumps (da capo, dal segno) are not followed.
"""

from collections.abc import Iterator
from fractions import Fraction
from functools import lru_cache
from typing import Final
from xml.etree.ElementTree import Element

from combwright.files.results import one_line
from combwright.tunes.abc_keys import metre_of
from combwright.tunes.pace import step
from combwright.tunes.tune import MOST_NOTES, BadTune, Reading, Tune, grains
from combwright.tunes.unfolding import Event, unfold
from combwright.tunes.xml_trees import read_tree

_STEPS: Final = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
_QUARTER: Final = Fraction(1, 4)
#: Titles in the order in which one is looked for.
_TITLES: Final = ("work/work-title", "movement-title", "credit/credit-words")


def read_musicxml(data: bytes, name: str) -> Reading:
    """Read the tune of a MusicXML document; what is wrong is one line."""
    step()
    try:
        return Reading((_tune(read_tree(data), name),))
    except BadTune as error:
        return Reading(faults=(one_line(f"{name}: {error}."),))


def _tune(root: Element, name: str) -> Tune:
    measures = list(_measures(root))
    part = _Part()
    for measure in measures:
        part.measure(measure)
    played = unfold(part.events)
    if not played.notes:
        raise BadTune("it has no notes")
    titles = (one_line(root.findtext(place) or "").strip() for place in _TITLES)
    return Tune(
        next(filter(None, titles), name), played.notes, name, (*part.remarks, *played.remarks),
        played.bars, part.fifths, part.metre,
    )  # fmt: skip


def _measures(root: Element) -> Iterator[Element]:
    if root.tag == "score-timewise":
        first = root.find("measure/part")
        wanted = None if first is None else first.get("id")
        for measure in root.iter("measure"):
            yield from (part for part in measure.iter("part") if part.get("id") == wanted)
    elif root.tag == "score-partwise":
        part = root.find("part")
        if part is None:
            raise BadTune("it has no part")
        yield from part.iter("measure")
    else:
        raise BadTune(f"it is XML but no MusicXML: its root is {root.tag[:40]!r}")


class _Part:
    """The state of reading one part."""

    def __init__(self) -> None:
        self.events: list[Event] = []
        self.remarks: list[str] = []
        self.divisions = Fraction(1)
        self.shift = 0
        self.fifths: int | None = None
        self.metre = ""
        self.voice: str | None = None
        self.before = "1"  # the voice of the note before, which a chord goes on
        self.count = 0
        self.now = self.upto = self.end = 0  # in the measure: here, written to, its end

    def measure(self, measure: Element) -> None:
        self.now = self.upto = self.end = 0
        for each in measure:
            if each.tag == "attributes":
                self._attributes(each)
            elif each.tag == "note":
                self._note(each)
            elif each.tag == "barline":
                self._rest_to_here()
                self._barline(each)
            elif each.tag in ("backup", "forward"):
                length = self._length(each)
                self._move(length if each.tag == "forward" else -length)
            elif each.tag == "sound" or each.find("sound") is not None:
                self._sound(each if each.tag == "sound" else each.find("sound"))
        self._rest_to_here()
        if self.events and self.events[-1].kind in ("note", "rest"):
            self.events.append(Event("bar"))

    def _length(self, element: Element) -> int:
        return _grains(element.findtext("duration") or "0", self.divisions)

    def _move(self, by: int) -> None:
        self.now = max(0, self.now + by)
        self.end = max(self.end, self.now)

    def _rest_to_here(self) -> None:
        """Write what the voice leaves out up to the end of the measure as a rest."""
        if self.end > self.upto:
            self.events.append(Event("rest", self.end - self.upto))
            self.upto = self.end

    def _attributes(self, attributes: Element) -> None:
        written = attributes.findtext("divisions")
        if written is not None:
            self.divisions = _number(written)
            if self.divisions <= 0:
                raise BadTune(f"divisions {written[:20]!r} is out of range; 1 or more is right")
        for transpose in attributes.iter("transpose"):
            self.shift = int(_number(transpose.findtext("chromatic") or "0"))
            self.shift += 12 * int(_number(transpose.findtext("octave-change") or "0"))
        sharps = attributes.findtext("key/fifths")
        if self.fifths is None and sharps is not None:
            self.fifths = int(_number(sharps)) + 7 * (self.shift % 12)
        beats, unit = (attributes.findtext(f"time/{name}") for name in ("beats", "beat-type"))
        if not self.metre and beats and unit:
            self.metre = metre_of(f"{beats}/{unit}")

    def _note(self, note: Element) -> None:
        if note.find("grace") is not None:
            return
        in_chord = note.find("chord") is not None
        voice = self.before if in_chord else note.findtext("voice") or "1"
        self.before = voice
        length = self._length(note)
        if note.find("cue") is None:
            self.voice = self.voice or voice
            if voice != self.voice:
                self._remark("only the first voice of the first part is read")
            elif (pitch := note.find("pitch")) is not None:
                self._sounds(note, _midi(pitch) + self.shift, length)
        if not in_chord:
            self._move(length)

    def _sounds(self, note: Element, midi: int, length: int) -> None:
        tied = any(tie.get("type") == "start" for tie in note.findall("tie"))
        if note.find("chord") is not None and self.events and self.events[-1].kind == "note":
            if midi > self.events[-1].midi:
                self.events[-1] = self.events[-1]._replace(midi=midi, tied=tied)
            return
        self.count += 1
        if self.count > MOST_NOTES:
            raise BadTune(f"it has more than {MOST_NOTES:,} notes; part it into tunes")
        if self.now > self.upto:
            self.events.append(Event("rest", self.now - self.upto))
        self.events.append(Event("note", length, midi, tied))
        self.upto = max(self.upto, self.now + length)

    def _barline(self, barline: Element) -> None:
        ending, repeat = barline.find("ending"), barline.find("repeat")
        forward = repeat is not None and repeat.get("direction") == "forward"
        if forward:
            self.events.append(Event("start"))
        if ending is not None and ending.get("type") == "start":
            turns = [
                int(n) for n in (ending.get("number") or "1").split(",") if n.strip().isdigit()
            ]
            self.events.append(Event("ending", turns=tuple(min(n, 50) for n in turns) or (1,)))
        if repeat is not None and not forward:
            times = repeat.get("times") or ""
            turns = [min(int(times), 50)] if times.isdigit() else []
            self.events.append(Event("end", turns=tuple(turns)))
        elif barline.findtext("bar-style") in ("light-light", "light-heavy"):
            self.events.append(Event("double"))

    def _sound(self, sound: Element | None) -> None:
        jumps = ("dacapo", "dalsegno", "tocoda", "coda")
        if sound is not None and any(sound.get(jump) for jump in jumps):
            self._remark("jumps (da capo, dal segno, coda) are not followed")

    def _remark(self, text: str) -> None:
        if text not in self.remarks:
            self.remarks.append(text)


def _midi(pitch: Element) -> int:
    return _sounding(
        pitch.findtext("step") or "",
        pitch.findtext("octave") or "4",
        pitch.findtext("alter") or "0",
    )


@lru_cache(maxsize=512)
def _sounding(step: str, octave_text: str, alter: str) -> int:
    step = step.strip().upper()
    if step not in _STEPS:
        raise BadTune(f"{step[:10]!r} is no step; A to G is right")
    octave = int(_number(octave_text))
    # A quarter tone goes to the nearer note, as Python rounds.
    midi = 12 * (octave + 1) + _STEPS[step] + round(_number(alter))
    if not 0 <= midi <= 127:
        raise BadTune(f"{step}{octave} is out of range; octaves 0 to 8 are right")
    return midi


@lru_cache(maxsize=1024)
def _grains(duration: str, divisions: Fraction) -> int:
    return grains(_number(duration) / divisions * _QUARTER)


@lru_cache(maxsize=1024)
def _number(text: str) -> Fraction:
    try:
        if len(text) > 20 or "/" in text or "e" in text.lower():
            raise ValueError
        return Fraction(text.strip())
    except ValueError:
        raise BadTune(f"{text[:20]!r} is no number") from None
