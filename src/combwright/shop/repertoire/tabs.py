"""A tab as its page shows it: note by note, what is hard about it, and what its cost is made of."""

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from combwright.comb.layouts import Layout
from combwright.comb.reach import Sound, sounds
from combwright.errors import CombwrightError
from combwright.notes.names import note_name
from combwright.playing.costs import PlayingCosts, preset
from combwright.playing.tabbing import Tab, explain, tab, way_text
from combwright.shop.repertoire.tab_forms import Asked
from combwright.tunes.tune import Tune

#: Notes times shifts that are worked out for a page: about three seconds.
_MOST_WORK: Final = 600_000
#: Notes that a page shows one by one; all of them stand in the text and in the PDF.
MOST_CELLS: Final = 2_000
_UNIT: Final = 100


class TooLong(CombwrightError):
    """A tune with more notes than can be tried at so many shifts."""


@dataclass(frozen=True, slots=True)
class Cell:
    """A note and how it is played; `barred` where a bar begins."""

    note: str
    way: str
    how: str
    words: str
    barred: bool


@dataclass(frozen=True, slots=True)
class Part:
    """A part of the cost, in words, with how many notes or moves it is for."""

    words: str
    why: str
    cost: float


@dataclass(frozen=True, slots=True)
class Hard:
    """A note that is bent, overbent or missing, and how often it comes."""

    note: str
    way: str
    how: str
    words: str
    times: int


def work_out(tune: Tune, asked: Asked, instrument: Layout) -> tuple[Tab, PlayingCosts]:
    """Return how a tune is played, and what the costs are.

    Raises
    ------
    TooLong
        If the tune is too long for so many shifts.
    """
    shifts = asked.shifts
    if len(tune.notes) * len(shifts) > _MOST_WORK:
        raise TooLong(
            _("%(n)d notes are too many to try every key; have the tune moved to the best octave, "
              "or by a number of semitones.") % {"n": len(tune.notes)}
        )  # fmt: skip
    costs = preset(asked.player)
    return tab(tune, sounds(instrument), costs, shifts), costs


def cells(found: Tab) -> list[Cell]:
    """Return the notes of a tab, one by one, up to the most that a page shows."""
    pairs = zip(found.tune.notes[:MOST_CELLS], found.ways, strict=False)
    barred = _begin_bars(found.tune)
    return [
        Cell(
            note_name(note.midi + found.shift),
            way_text(way),
            how_of(way),
            said_of(way),
            n in barred,
        )
        for n, (note, way) in enumerate(pairs)
    ]


def _begin_bars(tune: Tune) -> set[int]:
    """Return the places of notes that a bar line stands before."""
    lines = sorted(tune.bars)
    at, found = 0, set()
    for n, (before, note) in enumerate(pairwise(tune.notes), start=1):
        passed = False
        while at < len(lines) and lines[at] <= note.start:
            passed |= lines[at] > before.start
            at += 1
        if passed:
            found.add(n)
    return found


def how_of(way: Sound | None) -> str:
    """Return how a note is got, as a class of the page."""
    return "missing" if way is None else way.how


def said_of(way: Sound | None) -> str:
    """Return what is out of the ordinary about a note, in words; nothing for a natural one."""
    if way is None:
        return _("not on this instrument")
    if way.how == "bend":
        bent = ngettext("bent by a semitone", "bent by %d semitones", way.semitones)
        return bent % way.semitones if "%" in bent else bent
    if way.how == "overbend":
        return _("overblow") if way.breath == "blow" else _("overdraw")
    return ""


def hard_notes(found: Tab) -> list[Hard]:
    """Return what is bent, overbent or missing, the most frequent first."""
    notes = zip(found.tune.notes, found.ways, strict=True)
    counted = Counter(
        (note.midi + found.shift, way) for note, way in notes if way is None or way.how != "natural"
    )
    return [
        Hard(note_name(midi), way_text(way), how_of(way), said_of(way), times)
        for (midi, way), times in sorted(counted.items(), key=lambda each: (-each[1], each[0][0]))
    ]


def parts(found: Tab, costs: PlayingCosts) -> list[Part]:
    """Return what the cost of a tab is made of; the parts add up to it."""
    made_of = explain(found, costs)
    words = dict(_words(found))
    return [
        Part(*words[name], cost / _UNIT)
        for name, cost in made_of.items()
        if cost or name == "moves"
    ]


def _words(found: Tab) -> Iterator[tuple[str, tuple[str, str]]]:
    along = sum(way is not None and way.along is not None for way in found.ways)
    n = found.bends
    yield (
        "bends",
        (
            ngettext("%d bent note", "%d bent notes", n) % n,
            _("the deeper the bend the dearer; dearer still on a short note"),
        ),
    )
    n = found.overbends
    yield (
        "overbends",
        (
            ngettext("%d overbent note", "%d overbent notes", n) % n,
            _("overblows and overdraws; dearer on a short note"),
        ),
    )
    yield (
        "along",
        (
            ngettext(
                "%d note that brings another along", "%d notes that bring another along", along
            )
            % along,
            _("both reeds of the hole speak on that breath"),
        ),
    )
    n = found.unplayable
    yield (
        "missing",
        (
            ngettext("%d note that is not there", "%d notes that are not there", n) % n,
            _("no hole gives it; it costs more than any note that is there"),
        ),
    )
    yield (
        "moves",
        (
            _("from note to note"),
            _("changes of breath, dearer within a phrase than after a rest, and jumps over holes"),
        ),
    )
