"""Unfolding: repeats and endings played out, ties joined, and every note given its time.

What a sign of repeat goes back to follows the ABC standard 2.1, section 4.8, [abc]: the last start
of a repeat, else the last double bar or end of a repeat, else the beginning.
"""

from bisect import bisect_left
from collections.abc import Iterator, Sequence
from typing import Final, Literal, NamedTuple

from combwright.tunes.tune import MOST_NOTES, BadTune, TuneNote

#: Signs and notes that are passed, after which repeats are no music any more.
_MOST_STEPS: Final = 50 * MOST_NOTES
#: note and rest take time; the others say how bars are played.
Kind = Literal["note", "rest", "bar", "start", "end", "double", "ending"]


class Event(NamedTuple):
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


class Unfolded(NamedTuple):
    """A tune as it is played.

    Parameters
    ----------
    notes : tuple of TuneNote
        In order.
    bars : tuple of int
        The grains at which bar lines stand, each once.
    unheard : int
        Notes that are written but that no turn of a repeat reaches.
    """

    notes: tuple[TuneNote, ...]
    bars: tuple[int, ...]
    unheard: int

    @property
    def remarks(self) -> tuple[str, ...]:
        """What to say of notes that are not heard."""
        if not self.unheard:
            return ()
        return (f"{self.unheard} notes stand in endings that no repeat reaches and are not heard",)


def unfold(events: Sequence[Event]) -> Unfolded:
    """Return the notes as they are played.

    Raises
    ------
    BadTune
        If they are more than anybody plays.
    """
    notes: list[TuneNote] = []
    bars: list[int] = []
    heard: set[int] = set()  # the events at which runs begin
    now, tied = 0, False
    for at, run in _played(events):
        for kind, length, midi, to_next, _ in run:
            if kind == "rest":
                tied = False
            elif tied and notes[-1].midi == midi:
                last = notes[-1]
                notes[-1] = TuneNote(midi, last.start, last.length + length)
                tied = to_next
            else:
                notes.append(TuneNote(midi, now, length))
                tied = to_next
            now += length
        if now > (bars[-1] if bars else 0):
            bars.append(now)
        heard.add(at)
        if len(notes) > MOST_NOTES:
            raise BadTune(f"unfolds to more than {MOST_NOTES:,} notes; part it into tunes")
    return Unfolded(tuple(notes), tuple(bars), _unheard(events, heard))


def _unheard(events: Sequence[Event], heard: set[int]) -> int:
    """Count the notes in runs that were never begun."""
    count, here = 0, 0 in heard
    for at, event in enumerate(events, start=1):
        kind = event.kind
        if kind == "note":
            count += not here
        elif kind != "rest":
            here = at in heard
    return count


def _played(events: Sequence[Event]) -> Iterator[tuple[int, Sequence[Event]]]:
    """Yield runs of notes and rests, from one sign to the next, and where each begins."""
    walk = _Walk(events)
    signs = [at for at, event in enumerate(events) if event.kind not in ("note", "rest")]
    steps = 0
    while walk.at < len(events):
        begin = walk.at
        index = bisect_left(signs, begin)
        stop = signs[index] if index < len(signs) else len(events)
        yield begin, events[begin:stop]
        steps += 1 + stop - begin
        walk.at = stop + 1
        if stop < len(events) and events[stop].kind != "bar":
            walk.sign(events[stop])
        if steps > _MOST_STEPS:
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
        self.seen = 0  # up to where endings have been counted

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
        elif self.in_ending and self._kind(self.at) == "ending":
            self._skip()
        else:
            self._close(self.at)

    def _again(self) -> None:
        self.turn += 1
        self.at = self.back
        self.in_ending = False

    def _ending(self, event: Event) -> None:
        self._count_endings(event)
        if self.turn == 1 and 1 not in event.turns and not self.in_ending:
            return  # its first ending is not marked: what stands here is always played
        if self.in_ending and self.turn not in event.turns and self.turn + 1 in event.turns:
            self._again()  # the sign that sends back was forgotten between two endings
        elif self.turn in event.turns:
            self.in_ending = True
        else:
            self._skip()

    def _count_endings(self, event: Event) -> None:
        """Find how often a section is played that has an ending for each turn."""
        self.last = max(self.last, *event.turns)
        for at in range(max(self.at, self.seen), len(self.events)):
            before, now = self.events[at - 1].kind, self.events[at]
            if now.kind == "start" or (before == "end" and now.kind != "ending"):
                return
            if now.kind == "ending":
                self.last = max(self.last, *now.turns)
            self.seen = at + 1

    def _skip(self) -> None:
        """Go to the ending of this turn, else past the repeat; where there is neither play on."""
        for index in range(self.at, len(self.events)):
            event = self.events[index]
            if event.kind == "start" or (event.kind == "ending" and self.turn in event.turns):
                self.at = index
                return
            if event.kind == "end" and self._kind(index + 1) != "ending":
                self._close(index + 1)
                return

    def _close(self, at: int) -> None:
        """Leave a repeat that has been played as often as it says."""
        self.at = at
        self.in_ending = True
        self._section(opened=False)

    def _kind(self, index: int) -> str:
        return self.events[index].kind if index < len(self.events) else ""
