"""What programs send: bodies of writes, and the questions of reads.

A body with a field that is not known is turned away: a mistyped name must not pass for one that was
left out. The names are those of the columns of the shop's own files.
"""

from decimal import Decimal
from typing import Annotated, Any

from pydantic import BaseModel, ConfigDict, Field

from combwright.notes.names import parse_midi
from combwright.shop.api.words import (
    About,
    AskedCode,
    AskedKey,
    AskedText,
    Because,
    Cents,
    FitsMm,
    Found,
    ItemKind,
    LastNumber,
    LayoutOrNone,
    Limit,
    Line20OrNone,
    Line30,
    Line40,
    Line40OrNone,
    Lost,
    Money,
    Mount,
    Note,
    Number,
    OrdinaryKey,
    Pitch,
    Plates,
    Sets,
    SlotMm,
    Why,
    WrittenYes,
)
from combwright.shop.rack.actions import NewBin, Slice
from combwright.shop.rack.item_actions import NewItem
from combwright.shop.rack.models import MICRONS_PER_MM, MILLICENTS_PER_CENT
from combwright.shop.rack.queries import Search


def example(**values: Any) -> ConfigDict:
    """Return a body's settings: nothing unknown, nothing read into it, and an example."""
    return ConfigDict(
        extra="forbid", strict=True, frozen=True, json_schema_extra={"examples": [values]}
    )


class PlatesIn(BaseModel):
    """Plates that come in."""

    model_config = example(plates=12, note="delivery of 4 May")

    plates: Plates = Field(description="How many.")
    note: Note = Field("", description="A line for the ledger.")


class PlatesWhy(BaseModel):
    """Plates that leave or come back, with the reason said."""

    model_config = example(plates=1, note="rivet split")

    plates: Plates = Field(description="How many.")
    note: Why = Field(description="Why, for the ledger.")


class PlatesFound(BaseModel):
    """How many plates were found in a bin."""

    model_config = example(found=7)

    found: Found = Field(description="How many there are, whatever the ledger says.")
    note: Note = Field("", description="A line for the ledger.")


class PlatesMoved(BaseModel):
    """Plates that go into another bin of the same note and batch."""

    model_config = example(into="A-01-1b", plates=3)

    into: Line40 = Field(description="The bin they go into.")
    plates: Plates = Field(description="How many.")
    note: Note = Field("", description="A line for the ledger.")


class WhyBack(BaseModel):
    """Why an entry is taken back."""

    model_config = example(note="counted the wrong drawer")

    note: Why = Field(description="Why, for the ledger.")


class WhyHeld(BaseModel):
    """Why a batch is held."""

    model_config = example(because="rivets to be looked at")

    because: Because = Field(description="Why, for everybody who wants its plates.")


class _Measures(BaseModel):
    """What plates of a bin are."""

    model_config = ConfigDict(extra="forbid", strict=True, frozen=True)

    bin: Line40 = Field(description="The bin's name.")
    pitch: Pitch = Field(description="The note, as F#5 or Bb4, from C-1 to G9.")
    cents: Cents = Field(0, description="Measured offset from the note; kept to a thousandth.")
    slot_mm: SlotMm = Field(description="Length of the slot; kept to a thousandth.")
    mount: Mount = Field(description="The mounted end.")
    cut: Line20OrNone = Field("", description="The hole and breath it was made for, as 5 draw.")
    walk: Line40OrNone = Field("", description="The place on the walk along the rack.")
    cost: Money = Field("0", description="Of one plate, in the shop's currency.")

    def new_bin(self) -> NewBin:
        """Return the bin as the rack's actions know it."""
        return NewBin(
            code=self.bin,
            midi=parse_midi(self.pitch),
            slot_um=round(self.slot_mm * MICRONS_PER_MM),
            mount=self.mount,
            millicents=round(self.cents * MILLICENTS_PER_CENT),
            cut=self.cut,
            walk=self.walk,
            cost=Decimal(self.cost),
        )


class BinIn(_Measures):
    """A new bin."""

    model_config = example(bin="A-02-1", pitch="F#5", slot_mm=14.2, mount="front", batch="b7")

    batch: Line40 = Field(description="The batch of its plates; made when it is new.")


class SliceIn(_Measures):
    """One of a set's plates: the bin it goes to, and how many were lost in slicing."""

    lost: Lost = Field(0, description="How many broke.")

    def slice(self, sets: int) -> Slice:
        """Return it as the rack's actions know it, where so many sets came."""
        return Slice(self.new_bin(), sets - self.lost)


class WhichSet(BaseModel):
    """Which factory sets came."""

    model_config = ConfigDict(frozen=True)

    key: OrdinaryKey = Field(description="Their key.")
    batch: Line40 = Field(description="Their batch.")
    place: Line30 = Field(description="The drawer: new bins are called after it.")
    cost: Money = Field("0", description="Of one plate.")


class SetIn(WhichSet):
    """Factory sets, sliced into bins."""

    model_config = example(key="C", batch="b7", place="A-07", cost="2.20", sets=2)

    sets: Sets = Field(1, description="How many sets.")
    plates: Annotated[list[SliceIn], Field(min_length=1, max_length=20)] | None = Field(
        None, description="As proposed, with what is different; left out, all is as proposed."
    )
    note: Note = Field("", description="A line for the ledger; left out, it says how many sets.")


class Bounded(BaseModel):
    """So many at a time."""

    limit: Limit = Field(50, description="At most so many.")


class BinsAsked(Bounded):
    """Which bins to list."""

    after: AskedCode | None = Field(None, description="The `next` of the list before.")
    text: AskedText = Field("", description="In the name of the bin, its place or its batch.")
    pitch: Pitch | None = Field(None, description="The note; write # as %23.")
    mount: Mount | None = Field(None, description="The mounted end.")
    batch: AskedText = Field("", description="The batch, exactly.")
    fits_mm: FitsMm | None = Field(
        None, description="Only plates that fit a chamber that takes so much."
    )
    with_plates: WrittenYes = Field(False, description="Only bins that hold plates.")
    count: WrittenYes = Field(False, description="Say how many bins there are in all.")

    def search(self) -> Search:
        """Return it as the rack's queries know it."""
        return Search(
            text=self.text,
            midi=None if self.pitch is None else parse_midi(self.pitch),
            mount=self.mount or "",
            batch=self.batch,
            fits_um=None if self.fits_mm is None else round(self.fits_mm * MICRONS_PER_MM),
            with_plates=self.with_plates,
        )


class LinesAsked(Bounded):
    """Which part of a bin's ledger to list."""

    before: Number | None = Field(None, description="The `next` of the list before.")


class EntriesAsked(Bounded):
    """Which part of the ledger to list."""

    after: LastNumber = Field(
        0, description="The `next` of the list before, or the last number that was seen."
    )


class BatchesAsked(Bounded):
    """Which batches to list."""

    after: AskedCode | None = Field(None, description="The `next` of the list before.")


class LayoutAsked(BaseModel):
    """In which key to show a layout."""

    key: AskedKey = Field("C", description="The key; write # as %23 and a blank as %20.")


class ItemsAsked(Bounded):
    """Which items of the store to list."""

    after: AskedCode | None = Field(None, description="The `next` of the list before.")
    text: AskedText = Field("", description="In its name, what it is, its part, place or batch.")
    kind: ItemKind | None = Field(None, description="Only things of this kind.")
    there: WrittenYes = Field(False, description="Only what there is some of.")


class ItemIn(BaseModel):
    """A new item: a set or a donor has key, layout and batch, a part has its name."""

    model_config = example(item="SET-C", kind="set", key="C", layout="standard", batch="b7", came=2)

    item: Line40 = Field(description="What it is called here.")
    kind: ItemKind = Field(description="What kind of thing it is.")
    about: About = Field("", description="What it is, in a line.")
    key: OrdinaryKey | None = Field(None, description="Of a set or a donor: its key.")
    layout: LayoutOrNone = Field("", description="Of a set or a donor: its layout.")
    batch: Line40OrNone = Field("", description="Of a set or a donor: whose its plates become.")
    part: Line40OrNone = Field("", description="Of a part: as combs name it.")
    walk: Line40OrNone = Field("", description="The place on the walk along the rack.")
    cost: Money = Field("0", description="Of one, in the shop's currency.")
    came: Found = Field(0, description="How many came with it.")
    note: Note = Field("", description="A line for the ledger.")

    def new_item(self) -> NewItem:
        """Return it as the store's actions know it."""
        return NewItem(
            code=self.item,
            kind=self.kind,
            about=self.about,
            key=self.key or "",
            layout=self.layout,
            batch=self.batch,
            part=self.part,
            walk=self.walk,
            cost=Decimal(self.cost),
        )


class ItemsIn(BaseModel):
    """So many of an item that come in."""

    model_config = example(many=2, note="delivery of 4 May")

    many: Plates = Field(description="How many.")
    note: Note = Field("", description="A line for the ledger.")


class ItemsWhy(BaseModel):
    """So many of an item that leave, with the reason said."""

    model_config = example(many=1, note="crushed in the post")

    many: Plates = Field(description="How many.")
    note: Why = Field(description="Why, for the ledger.")


class OpenedPlate(_Measures):
    """One plate of an opened set or donor: the bin it goes to, or that it was lost."""

    lost: bool = Field(False, description="Whether it did not come out whole.")

    def slice(self) -> Slice:
        """Return it as the store's actions know it."""
        return Slice(self.new_bin(), 0 if self.lost else 1)


class OpenIn(BaseModel):
    """A set or a donor that is opened into plates."""

    model_config = example(place="A-08")

    place: Line30 = Field(description="The drawer: new bins are called after it.")
    plates: Annotated[list[OpenedPlate], Field(min_length=1, max_length=32)] | None = Field(
        None, description="As proposed, with what is different; left out, all is as proposed."
    )
    note: Note = Field("", description="A line for the ledger.")


class OpeningAsked(BaseModel):
    """Where the plates of a set or a donor would go."""

    place: Line30 = Field(description="The drawer: new bins are called after it.")
