"""What a wish plays, where its plates would come from, and whether it can be built now."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from django.utils.translation import gettext as _

from combwright.allocation.answer import Buildable
from combwright.allocation.ask import can_build
from combwright.allocation.orders import Design, Want, want_of
from combwright.allocation.reservations import wants_in
from combwright.allocation.stock import Stock
from combwright.allocation.workshop import Workshop
from combwright.comb.chamber import bends, overbend, remark
from combwright.comb.chords import Chord, chords, octave_splits
from combwright.comb.combs import Comb
from combwright.comb.layouts import Layout
from combwright.comb.reach import How, Sound, positions
from combwright.comb.seats import BREATHS, Breath
from combwright.errors import CombwrightError
from combwright.files.wishes import Wish as ReadWish
from combwright.files.wishes import design_of, sounding
from combwright.notes.keys import transposed_name
from combwright.notes.names import note_name, note_text
from combwright.notes.pitch import a4_cents, hertz
from combwright.sheets.plates import Place
from combwright.shop.designs.drawings import Against, against, comb_for
from combwright.shop.designs.queries import layout as known_layout
from combwright.shop.orders import supply
from combwright.shop.orders.supply import Supply

_WIDE: Final = 3  # from so many holes on a chord is worth a line of its own


@dataclass(frozen=True, slots=True)
class Heard:
    """A note or a chord: its name and its tones in hertz, as the browser plays them."""

    name: str
    hz: str


@dataclass(frozen=True, slots=True)
class HoleLine:
    """What one hole gives."""

    hole: int
    blow: tuple[Heard, ...]
    draw: tuple[Heard, ...]
    bends: tuple[Heard, ...]
    overbend: Heard | None
    remark: str


@dataclass(frozen=True, slots=True)
class StepLine:
    """A note of a scale: how it is got, and where."""

    heard: Heard
    how: How
    where: str


@dataclass(frozen=True, slots=True)
class ChordLine:
    """A chord: the breath and the holes that give it."""

    heard: Heard
    breath: Breath
    holes: str


@dataclass(frozen=True, slots=True)
class Scale:
    """A scale in one position, its name and the root it starts from."""

    position: int
    name: str
    tonic: str
    steps: tuple[StepLine, ...]

    @property
    def natural(self) -> int:
        """How many of its notes are there without bending."""
        return sum(step.how == "natural" for step in self.steps)


@dataclass(frozen=True, slots=True)
class Plays:
    """What a layout plays."""

    holes: tuple[HoleLine, ...]
    scale: Scale
    chords: tuple[ChordLine, ...]
    splits: tuple[ChordLine, ...]
    against: Against
    seats: Mapping[Place, Heard]


@dataclass(frozen=True, slots=True)
class Answer:
    """Whether a wish can be built, from what, and for how much.

    Parameters
    ----------
    fault : str
        Why it cannot be built as it is drawn, whatever the rack holds; empty where it can.
    seats : tuple of Supply
        Where the plate of each seat comes from.
    kit : tuple of (str, Supply)
        The same for the plates that go along.
    can : bool
        Whether one copy can be built now from what nothing is set aside of.
    cost : Decimal or None
        Of one copy's plates, parts and labour.
    missing : tuple of str
        What would have to come in.
    """

    fault: str
    seats: tuple[Supply, ...] = ()
    kit: tuple[tuple[str, Supply], ...] = ()
    can: bool = False
    cost: Decimal | None = None
    missing: tuple[str, ...] = ()

    def by_place(self) -> dict[Place, Supply]:
        """Return the supply of each seat of the instrument."""
        return {(each.want.hole, each.want.deck): each for each in self.seats}


def plays(wish: ReadWish, *, position: int = 1, scale: str = "major") -> Plays:
    """Return what a wish plays; one query.

    Parameters
    ----------
    wish : Wish
        Read.
    position, scale
        Which scale is shown in which of the twelve positions.

    Raises
    ------
    BadWish
        If its changes cannot be made or a note leaves the range of MIDI.
    NoSuchScale
        If there is no scale of that name.
    """
    layout = sounding(wish)
    tones = _Tones(wish, layout)
    standard = known_layout("standard").in_key(wish.key)
    found = positions(layout, wish.key.pitch_class, scale=scale)[position - 1]
    return Plays(
        holes=tuple(_hole(layout, hole, tones) for hole in range(1, layout.holes + 1)),
        scale=Scale(
            position, scale, transposed_name(found.tonic),
            tuple(
                StepLine(tones.plain(step.midi), step.how, _where(step.where))
                for step in found.steps
            ),
        ),
        chords=tuple(
            _chord(each, tones) for each in chords(layout) if len(each.holes) >= _WIDE
        ),
        splits=tuple(_chord(each, tones) for each in octave_splits(layout)),
        against=against(standard, layout),
        seats=tones.seats,
    )  # fmt: skip


def heard_holes(wish: ReadWish) -> tuple[HoleLine, ...]:
    """Return what each hole of a wish gives, to be read and heard; no query.

    Raises
    ------
    BadWish
        As `plays`.
    """
    layout = sounding(wish)
    tones = _Tones(wish, layout)
    return tuple(_hole(layout, hole, tones) for hole in range(1, layout.holes + 1))


def answered(wish: ReadWish, workshop: Workshop) -> Answer:
    """Say whether one copy of a wish can be built now; two queries, however much is set aside."""
    try:
        design = design_of(wish)
    except CombwrightError as error:
        return Answer(str(error))
    wants = wants_in(design)
    bins = supply.unclaimed_bins(wants, workshop)
    stock = Stock(bins, supply.unclaimed_parts())
    built = can_build(stock, design, workshop)
    seats, kit = _supplies(design, built, stock, workshop)
    return Answer(
        "", seats, kit, built.can, built.cost, tuple(each.text for each in built.missing)
    )  # fmt: skip


def comb_to_draw(wish: ReadWish) -> Comb:
    """Return the comb to draw a wish on: its own, or an even one where that has too few holes."""
    return comb_for(wish.layout, wish.comb)


def supply_words(found: Supply) -> str:
    """Say where a plate comes from: `in the rack, bin A-03`."""
    if found.how == "missing":
        return _("missing")
    if found.how == "rack":
        return _("in the rack, bin %s") % found.bin
    said = {"cents": f"{abs(found.cents):.0f}", "bin": found.bin}
    if found.cents > 0:
        return _("to be raised by %(cents)s cents, bin %(bin)s") % said
    return _("to be lowered by %(cents)s cents, bin %(bin)s") % said


def _supplies(
    design: Design, built: Buildable, stock: Stock, workshop: Workshop
) -> tuple[tuple[Supply, ...], tuple[tuple[str, Supply], ...]]:
    """Return each seat's supply: a plan's plates where there is one, else as many as there are."""
    labels = [each.label for each in design.kit]
    if built.made is not None:
        seats = tuple(supply.placed_supply(each) for each in built.made.seats)
        kit = tuple((each.label, supply.placed_supply(each.placed)) for each in built.made.kit)
        return seats, kit
    wants = (*design.seats, *(each.want for each in design.kit))
    found = supply.supplies(wants, stock.bins, workshop)
    many = len(design.seats)
    return found[:many], tuple(zip(labels, found[many:], strict=True))


class _Tones:
    """The hertz of a layout's reeds as they are to be tuned, and of notes between them."""

    def __init__(self, wish: ReadWish, layout: Layout) -> None:
        self._shift = a4_cents(wish.a4_hz)
        comb = comb_for(layout, wish.comb)
        tonic = wish.key.pitch_class
        wants = [want_of(seat, comb, wish.temperament, tonic, self._shift) for seat in layout.seats]
        self._wants: dict[tuple[int, Breath], list[Want]] = {}
        for want in wants:
            self._wants.setdefault((want.hole, want.breath), []).append(want)
        own = {(seat.hole, seat.deck): seat.cents for seat in layout.seats}
        self.seats: dict[Place, Heard] = {
            (want.hole, want.deck): Heard(
                note_text(want.midi, own[want.hole, want.deck]), _hz(want.midi, want.cents)
            )
            for want in wants
        }

    def of(self, hole: int, breath: Breath) -> tuple[Heard, ...]:
        """Return the reeds of a hole that speak on a breath."""
        found = self._wants.get((hole, breath), ())
        return tuple(self.seats[want.hole, want.deck] for want in found)

    def plain(self, midi: int) -> Heard:
        """Return a note as equal temperament has it, at the wish's pitch standard."""
        return Heard(note_name(midi), _hz(midi, self._shift))

    def together(self, holes: Sequence[int], breath: Breath) -> str:
        """Return the hertz of all reeds of some holes that speak on a breath."""
        return " ".join(heard.hz for hole in holes for heard in self.of(hole, breath))


def _hz(midi: int, cents: float) -> str:
    return f"{float(hertz(midi, cents)):.3f}"


def _hole(layout: Layout, hole: int, tones: _Tones) -> HoleLine:
    over = overbend(layout, hole)
    blow, draw = (tones.of(hole, breath) for breath in BREATHS)
    return HoleLine(
        hole,
        blow,
        draw,
        tuple(tones.plain(bend.midi) for bend in bends(layout, hole)),
        tones.plain(over.midi) if over else None,
        remark(layout, hole),
    )


def _chord(chord: Chord, tones: _Tones) -> ChordLine:
    holes = "–".join(str(hole) for hole in (chord.holes[0], chord.holes[-1]))
    return ChordLine(
        Heard(chord.name, tones.together(chord.holes, chord.breath)), chord.breath, holes
    )  # fmt: skip


def _where(sound: Sound | None) -> str:
    if sound is None:
        return ""
    breath = _("blow") if sound.breath == "blow" else _("draw")
    return f"{sound.hole} {breath}"


def seat_marks(answer: Answer) -> tuple[frozenset[Place], dict[Place, float]]:
    """Return the seats whose plate is missing, and the retunes of the others, in cents."""
    found = answer.by_place()
    missing = frozenset(place for place, each in found.items() if each.how == "missing")
    retunes = {place: each.cents for place, each in found.items() if each.how == "retune"}
    return missing, retunes


def words_by_seat(answer: Answer) -> Iterator[tuple[Place, str]]:
    """Give for each seat what is read out of its supply."""
    for place, found in answer.by_place().items():
        yield place, supply_words(found)
