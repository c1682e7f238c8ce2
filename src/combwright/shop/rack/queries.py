"""Reading the rack: lists, the heat map, a bin's ledger, and the proof that it all adds up."""

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from django.db.models import Count, F, OuterRef, Q, QuerySet, Subquery, Sum
from django.db.models.functions import Coalesce

from combwright.comb.catalogue import catalogue_layout
from combwright.comb.combs import Comb
from combwright.notes.keys import ORDINARY_KEYS, parse_key
from combwright.notes.names import note_name
from combwright.shop.rack.models import MICRONS_PER_MM, Batch, Bin, Entry, Line

#: At so many plates and more a cell of the heat map has the next deeper level.
LEVELS: Final = (1, 3, 6, 12, 24, 48)


@dataclass(frozen=True, slots=True)
class Search:
    """What to look for in the rack; empty fields look for everything."""

    text: str = ""
    midi: int | None = None
    mount: str = ""
    batch: str = ""
    fits_um: int | None = None
    with_plates: bool = False


def bins_found(search: Search) -> QuerySet[Bin]:
    """Return the bins that a search finds, along the walk, with their batches."""
    found = Bin.objects.select_related("batch")
    if search.text:
        text = search.text
        found = found.filter(
            Q(code__icontains=text) | Q(walk__icontains=text) | Q(batch__code__icontains=text)
        )
    if search.midi is not None:
        found = found.filter(midi=search.midi)
    if search.mount:
        found = found.filter(mount=search.mount)
    if search.batch:
        found = found.filter(batch__code=search.batch)
    if search.fits_um is not None:
        found = found.filter(slot_um__lte=search.fits_um)
    if search.with_plates:
        found = found.filter(count__gt=0)
    return found


@dataclass(frozen=True, slots=True)
class Cell:
    """A cell of the heat map: a note, and a hole whose chamber the plates must fit.

    Parameters
    ----------
    hole : int
        From 1.
    takes_um : int
        The longest slot it takes.
    plates : int
        Plates of the note that fit.
    level : int
        0 for none, deeper with more plates.
    wanted : bool
        Whether the standard layout has the note in that hole in some ordinary key: an empty cell
        is a gap then.
    """

    hole: int
    takes_um: int
    plates: int
    level: int
    wanted: bool

    @property
    def gap(self) -> bool:
        """Whether something ordinary is missing here."""
        return self.wanted and not self.plates


@dataclass(frozen=True, slots=True)
class Row:
    """A note's row of the heat map."""

    midi: int
    note: str
    plates: int
    cells: tuple[Cell, ...]


def heat_map(comb: Comb) -> tuple[Row, ...]:
    """Return the rack by note and hole, low notes first; one query whatever the rack's size."""
    slots: dict[int, list[tuple[int, int]]] = defaultdict(list)
    rows = Bin.objects.filter(count__gt=0).values_list("midi", "slot_um").annotate(Sum("count"))
    for midi, slot_um, plates in rows.order_by():
        slots[midi].append((slot_um, plates))
    wanted = _wanted()
    notes = sorted({*slots, *(midi for midi, _hole in wanted)})
    takes = [round(comb.takes_mm(hole) * MICRONS_PER_MM) for hole in range(1, comb.holes + 1)]
    return tuple(_row(midi, slots.get(midi, []), takes, wanted) for midi in notes)


def _row(
    midi: int, slots: Sequence[tuple[int, int]], takes: Sequence[int], wanted: set[tuple[int, int]]
) -> Row:
    cells = []
    for hole, longest in enumerate(takes, start=1):
        plates = sum(many for slot_um, many in slots if slot_um <= longest)
        level = sum(plates >= least for least in LEVELS)
        cells.append(Cell(hole, longest, plates, level, (midi, hole) in wanted))
    return Row(midi, note_name(midi), sum(many for _slot, many in slots), tuple(cells))


def _wanted() -> set[tuple[int, int]]:
    """Return the notes that the standard layout has in each hole, over the ordinary keys."""
    shifts = [parse_key(name).shift for name in ORDINARY_KEYS]
    seats = catalogue_layout("standard").seats
    return {(seat.midi + shift, seat.hole) for seat in seats for shift in shifts}


def lines_of(plate_bin: Bin) -> QuerySet[Line]:
    """Return a bin's ledger, newest first, with what was done and by whom."""
    return Line.objects.filter(bin=plate_bin).select_related("entry", "entry__made_by")


def entries() -> QuerySet[Entry]:
    """Return the ledger, newest first, with who did it, how many bins and how many plates.

    Bins and plates are asked for each entry that is shown: joined and grouped, the database would
    add up the whole ledger before it gives the first page.
    """
    lines = Line.objects.filter(entry=OuterRef("pk")).order_by().values("entry")
    return (
        Entry.objects.select_related("made_by", "corrects")
        .annotate(
            bins=Coalesce(Subquery(lines.annotate(n=Count("pk")).values("n")), 0),
            plates=Coalesce(Subquery(lines.annotate(n=Sum("change")).values("n")), 0),
        )
        .prefetch_related("corrections")
        .order_by("-id")
    )


def lines_along_the_walk(entry: Entry) -> QuerySet[Line]:
    """Return an entry's lines with their bins, as one walks past them.

    Not by their keys: PostgreSQL would then look for them through the whole ledger from its end.
    """
    return entry.lines.select_related("bin").order_by("bin__walk", "bin__code")


def batches() -> QuerySet[Batch]:
    """Return the batches with how many bins and plates each has."""
    counted = Batch.objects.annotate(bin_count=Count("bins"), plates=Sum("bins__count"))
    return counted.order_by("code")


def holes_fitted(plate_bin: Bin, comb: Comb) -> tuple[int, ...]:
    """Return the holes of a comb whose chamber takes the bin's plates."""
    return tuple(
        hole
        for hole in range(1, comb.holes + 1)
        if plate_bin.slot_um <= round(comb.takes_mm(hole) * MICRONS_PER_MM)
    )


@dataclass(frozen=True, slots=True)
class Fault:
    """A bin that does not hold what its ledger says."""

    bin: str
    holds: int
    ledger: int


def ledger_faults() -> Iterator[Fault]:
    """Give every bin whose count is not the sum of its ledger; none, unless there is a bug."""
    summed = Bin.objects.annotate(ledger=Sum("lines__change", default=0))
    for each in summed.exclude(count=F("ledger")).iterator():
        yield Fault(each.code, each.count, each.ledger)


def totals() -> Mapping[str, int]:
    """Return how many bins and plates there are, and how many of them are held."""
    return Bin.objects.aggregate(
        bins=Count("pk"),
        plates=Sum("count", default=0),
        held=Sum("count", filter=Q(held=True) | Q(batch__held=True), default=0),
    )
