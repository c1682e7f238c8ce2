"""What programs are told, under the names of the columns of the shop's own files."""

from collections.abc import Sequence
from datetime import datetime
from decimal import Decimal
from typing import Literal, Self

from pydantic import BaseModel, Field

from combwright.comb.seats import Breath, Deck, Facing, Seat, Side
from combwright.notes.names import note_name
from combwright.shop.rack.models import Batch, Bin, Entry, Item, ItemLine, Line


def money(amount: Decimal) -> str:
    """Return an amount as programs get it: always two decimals."""
    return f"{amount:.2f}"


class Me(BaseModel):
    """Whose token it is, and what it may do."""

    program: str
    person: str = Field(description="On whose behalf it acts.")
    role: Literal["owner", "office", "maker", "packer"]
    scopes: list[str] = Field(description="What it was made for.")
    may: list[str] = Field(description="What it may do: its scopes, as far as the role may.")
    expires_at: datetime


class Totals(BaseModel):
    """The rack in three numbers."""

    bins: int
    plates: int
    held: int = Field(description="Plates kept out of every plan.")


class BinTold(BaseModel):
    """A bin and what it holds."""

    bin: str
    pitch: str = Field(description="The note, without cents.")
    cents: float = Field(description="Measured offset from the note.")
    slot_mm: float
    mount: Literal["front", "rear"]
    batch: str
    count: int = Field(description="Plates in it.")
    cost: str = Field(description="Of one plate, with two decimals.")
    cut: str
    walk: str
    held: bool = Field(description="Kept out of every plan: the bin, or its whole batch.")
    counted_at: datetime | None

    @classmethod
    def of(cls, plate_bin: Bin) -> Self:
        """Tell of a bin; its batch must be loaded."""
        return cls.model_validate(_bin(plate_bin))


def _bin(plate_bin: Bin) -> dict[str, object]:
    return {
        "bin": plate_bin.code,
        "pitch": plate_bin.note,
        "cents": plate_bin.cents,
        "slot_mm": plate_bin.slot_mm,
        "mount": plate_bin.mount,
        "batch": plate_bin.batch.code,
        "count": plate_bin.count,
        "cost": money(plate_bin.cost),
        "cut": plate_bin.cut,
        "walk": plate_bin.walk,
        "held": plate_bin.held or plate_bin.batch.held,
        "counted_at": plate_bin.counted_at,
    }


class Bins(BaseModel):
    """A part of the list of bins, in the order of their names."""

    bins: list[BinTold]
    next: str | None = Field(description="Give it as `after` for the following part.")
    count: int | None = Field(description="How many there are in all, where that was asked.")


class BinLine(BaseModel):
    """What one entry did to a bin."""

    line: int
    entry: int
    made_at: datetime
    made_by: str
    why: str
    note: str
    change: int
    after: int = Field(description="What the bin held then.")

    @classmethod
    def of(cls, line: Line) -> Self:
        """Tell of a line; its entry and who made it must be loaded."""
        return cls(
            line=line.pk,
            entry=line.entry_id,
            made_at=line.entry.made_at,
            made_by=line.entry.made_by.full_name,
            why=line.entry.why,
            note=line.entry.note,
            change=line.change,
            after=line.after,
        )


class BinWhole(BinTold):
    """A bin with the holes of the shop's comb that its plates fit, and a part of its ledger."""

    holes: list[int]
    lines: list[BinLine] = Field(description="The newest first.")
    next: int | None = Field(description="Give it as `before` for the following part.")

    @classmethod
    def whole(cls, plate_bin: Bin, holes: Sequence[int], lines: Sequence[Line], limit: int) -> Self:
        """Tell of a bin with so many of its lines at most."""
        told = [BinLine.of(line) for line in lines[:limit]]
        last = told[-1].line if len(lines) > limit else None
        more = {"holes": list(holes), "lines": told, "next": last}
        return cls.model_validate(_bin(plate_bin) | more)


class EntryLine(BaseModel):
    """What an entry did to one bin."""

    bin: str
    change: int
    after: int


class EntryItem(BaseModel):
    """What an entry did to one item of the store."""

    item: str
    change: int
    after: int


class EntryTold(BaseModel):
    """One thing that somebody did, with a line for every bin and every item of the store."""

    entry: int
    made_at: datetime
    made_by: str
    why: str
    note: str
    corrects: int | None = Field(description="The entry that this one takes back.")
    taken_back_by: int | None = Field(description="The entry that takes this one back.")
    lines: list[EntryLine]
    items: list[EntryItem]

    @classmethod
    def of(cls, entry: Entry, lines: Sequence[Line], items: Sequence[ItemLine]) -> Self:
        """Tell of an entry; who made it and its corrections should be loaded."""
        backs = [each.pk for each in entry.corrections.all()]
        return cls(
            entry=entry.pk,
            made_at=entry.made_at,
            made_by=entry.made_by.full_name,
            why=entry.why,
            note=entry.note,
            corrects=entry.corrects_id,
            taken_back_by=backs[0] if backs else None,
            lines=[
                EntryLine(bin=line.bin.code, change=line.change, after=line.after) for line in lines
            ],
            items=[
                EntryItem(item=line.item.code, change=line.change, after=line.after)
                for line in items
            ],
        )


class Entries(BaseModel):
    """A part of the ledger, the oldest first."""

    entries: list[EntryTold]
    next: int = Field(description="Give it as `after`, now or when you look again.")
    more: bool = Field(description="Whether there is more already.")


class ItemTold(BaseModel):
    """What is kept whole: a factory set, a donor instrument, or a part."""

    item: str
    kind: Literal["set", "donor", "part"]
    about: str
    key: str
    layout: str
    batch: str
    part: str = Field(description="As combs name it in their lists of parts.")
    walk: str
    cost: str = Field(description="Of one, with two decimals.")
    count: int
    held: bool = Field(description="Kept whole and out of every plan: it, or its batch.")
    counted_at: datetime | None

    @classmethod
    def of(cls, item: Item) -> Self:
        """Tell of an item; its batch should be loaded."""
        batch = item.batch
        return cls.model_validate(
            {
                "item": item.code,
                "kind": item.kind,
                "about": item.about,
                "key": item.key,
                "layout": item.layout,
                "batch": batch.code if batch else "",
                "part": item.part,
                "walk": item.walk,
                "cost": money(item.cost),
                "count": item.count,
                "held": item.held or (batch is not None and batch.held),
                "counted_at": item.counted_at,
            }
        )


class Items(BaseModel):
    """A part of the list of items, in the order of their names."""

    items: list[ItemTold]
    next: str | None = Field(description="Give it as `after` for the following part.")


class SliceTold(BaseModel):
    """What is proposed for one of a set's plates."""

    bin: str
    pitch: str
    cents: float
    slot_mm: float
    mount: Literal["front", "rear"]
    cut: str
    walk: str
    cost: str
    lost: int


class SetProposed(BaseModel):
    """Where a set's plates would go: give the list back, with what is different."""

    plates: list[SliceTold]


class OpenedTold(SliceTold):
    """What is proposed for one plate of a set or a donor that is opened."""

    lost: bool


class OpeningProposed(BaseModel):
    """Where the plates of a set or a donor would go: give the list back, with what is different."""

    plates: list[OpenedTold]


class BatchTold(BaseModel):
    """A batch and whether it is held."""

    batch: str
    about: str
    held: bool
    held_because: str

    @classmethod
    def of(cls, batch: Batch) -> Self:
        """Tell of a batch."""
        return cls(
            batch=batch.code, about=batch.about, held=batch.held, held_because=batch.held_because
        )


class Batches(BaseModel):
    """A part of the list of batches, in the order of their names."""

    batches: list[BatchTold]
    next: str | None = Field(description="Give it as `after` for the following part.")


class LayoutNamed(BaseModel):
    """A layout's name and what it is good for."""

    layout: str = Field(description="What it is asked by.")
    title: str
    about: str
    holes: int
    own: bool = Field(description="Whether the shop made it itself.")


class Layouts(BaseModel):
    """The layouts there are."""

    layouts: list[LayoutNamed]


class SeatTold(BaseModel):
    """A seat and the reed in it."""

    hole: int
    deck: Deck
    breath: Breath
    facing: Facing
    side: Side = Field(description="The side of the plate that the reed is on.")
    pitch: str
    cents: float = Field(description="Beside whatever a temperament gives.")

    @classmethod
    def of(cls, seat: Seat) -> Self:
        """Tell of a seat."""
        return cls(
            hole=seat.hole,
            deck=seat.deck,
            breath=seat.breath,
            facing=seat.facing,
            side=seat.side,
            pitch=note_name(seat.midi),
            cents=seat.cents,
        )


class LayoutTold(LayoutNamed):
    """A layout with its seats, in a key."""

    key: str
    seats: list[SeatTold]
