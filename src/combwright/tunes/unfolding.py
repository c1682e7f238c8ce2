"""Unfolding: repeats and endings played out, ties joined, and every note given its time.

What a sign of repeat goes back to follows the ABC standard 2.1, section 4.8, [abc]: the last start
of a repeat, else the last double bar or end of a repeat, else the beginning.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

from combwright.tunes.tune import MOST_NOTES, BadTune, TuneNote

#: note and rest take time; the others say how bars are played.
Kind = Literal["note", "rest", "bar", "start", "end", "double", "ending"]


@dataclass(frozen=True, slots=True)
class Event:
    """A note, a rest, or a sign at a bar line.

    Parameters
    ----------
    kind : str
        What it is.
    length : int
        Grains, of a note or rest.
    midi : int
        Of a note.
    tied : bool
        Whether a note is tied to the next.
    turns : tuple of int
        Of an ending the turns it is played on; of the end of a repeat how often all is played.
    """

    kind: Kind
    length: int = 0
    midi: int = 0
    tied: bool = False
    turns: tuple[int, ...] = ()


def unfold(events: Sequence[Event], bars: list[int] | None = None) -> tuple[TuneNote, ...]:
    """Return the notes as they are played.

    Parameters
    ----------
    events : sequence of Event
        As they are written.
    bars : list of int, optional
        Filled with the grains at which bar lines stand.

    Raises
    ------
    BadTune
        If they are more than anybody plays.
    """
    notes: list[TuneNote] = []
    now, tied = 0, False
    for event in _played(events):
        if event.kind not in ("note", "rest"):
            if bars is not None and now > (bars[-1] if bars else 0):
                bars.append(now)
            continue
        if event.kind == "rest":
            tied = False
        elif tied and notes[-1].midi == event.midi:
            last = notes[-1]
            notes[-1] = TuneNote(last.midi, last.start, last.length + event.length)
            tied = event.tied
        else:
            notes.append(TuneNote(event.midi, now, event.length))
            tied = event.tied
        now += event.length
        if len(notes) > MOST_NOTES:
            raise BadTune(f"unfolds to more than {MOST_NOTES:,} notes; part it into tunes")
    return tuple(notes)


def _played(events: Sequence[Event]) -> Iterator[Event]:
    """Yield notes, rests and signs in the order in which they are played."""
    walk = _Walk(events)
    steps = 0
    while walk.at < len(events):
        event = events[walk.at]
        walk.at += 1
        if event.kind not in ("note", "rest", "bar"):
            walk.sign(event)
        yield event
        steps += 1
        if steps > 50 * MOST_NOTES:
            raise BadTune("its repeats go round and round; look at its repeat signs")


class _Walk:
    """Where the player is, where a repeat goes back to, and on which turn."""

    def __init__(self, events: Sequence[Event]) -> None:
        self.events = events
        self.at = 0
        self.back = 0
        self.turn = 1
        self.last = 2  # how often the section is played
        self.in_ending = False
        self.opened = False  # whether a start of repeat was written

    def sign(self, event: Event) -> None:
        if event.kind == "start":
            self._section(opened=True)
        elif event.kind == "double":
            if not self.opened or (self.in_ending and self.turn >= self.last):
                self._section(opened=False)
        elif event.kind == "ending":
            self._ending(event)
        else:
            self._end(event)

    def _section(self, *, opened: bool) -> None:
        if opened or self.turn == 1 or self.in_ending:
            self.back, self.turn, self.last = self.at, 1, 2
            self.in_ending, self.opened = False, opened

    def _end(self, event: Event) -> None:
        wanted = max(self.last, *event.turns) if event.turns else self.last
        if self.turn < wanted:
            self._again()
        else:
            self.in_ending = True
            self._section(opened=False)

    def _again(self) -> None:
        self.turn += 1
        self.at = self.back
        self.in_ending = False

    def _ending(self, event: Event) -> None:
        self.last = max(self.last, *event.turns)
        if self.in_ending and self.turn not in event.turns and self.turn + 1 in event.turns:
            self._again()  # the sign that sends back was forgotten between two endings
        elif self.turn in event.turns:
            self.in_ending = True
        else:
            self._skip()

    def _skip(self) -> None:
        """Go to the ending of this turn, or past the repeat where there is none."""
        for index in range(self.at, len(self.events)):
            event = self.events[index]
            if event.kind == "ending" and self.turn in event.turns:
                self.at = index
                return
            if event.kind == "start":
                self.at = index
                return
        after = [i for i in range(self.at, len(self.events)) if self.events[i].kind == "end"]
        self.at = after[-1] + 1 if after else len(self.events)
        self.in_ending = True
        self._section(opened=False)
