"""What the demo shop's rack and store hold at first."""

from collections.abc import Iterable, Iterator
from decimal import Decimal
from typing import Final

from combwright.allocation.stock import Bin
from combwright.demo.scenario import part_rows
from combwright.shop.people.models import Person
from combwright.shop.rack import actions
from combwright.shop.rack.item_actions import NewItem, make_item
from combwright.shop.rack.models import MICRONS_PER_MM, MILLICENTS_PER_CENT, Entry, Item
from combwright.shop.rack.models import Bin as ShopBin

#: What parts are called here; as combs name them otherwise.
_PARTS: Final = {
    "comb": "Combs, pear wood", "cover": "Covers, brass", "screw": "Screws, 8 mm",
    "gasket": "Gaskets, 0.15 mm",
}  # fmt: skip


def stock_up(person: Person, bins: Iterable[Bin]) -> None:
    """Fill the rack and the store."""
    counts, held = {}, []
    for each in bins:
        new = actions.NewBin(
            code=each.code,
            midi=each.midi,
            slot_um=round(each.slot_mm * MICRONS_PER_MM),
            mount=each.mount,
            millicents=round(each.cents * MILLICENTS_PER_CENT),
            cut=each.cut,
            walk=each.walk,
            cost=each.cost,
        )
        key = actions.make_bin(new, each.batch).pk
        counts[key] = each.count
        held += [key] * each.held
    ShopBin.objects.filter(pk__in=held).update(held=True)
    actions.post(person, Entry.RECEIVED, counts, note="the demo's rack")
    for new_item, came in _store():
        make_item(person, new_item, came=came, note="the demo's store")


def _store() -> Iterator[tuple[NewItem, int]]:
    """Give what the demo's store holds at first, and how many of each."""
    for key, came in (("G", 3), ("A", 1)):
        yield NewItem(
            f"Set in {key}", Item.SET, key=key, layout="standard", batch=f"unsliced {key}",
            walk=f"S-{key}", cost=Decimal("38.00"),
        ), came  # fmt: skip
    yield NewItem(
        "Old one in D", Item.DONOR, about="cover dented, 5 draw dead", key="D",
        layout="natural-minor", batch="donors", walk="S-9", cost=Decimal("6.00"),
    ), 1  # fmt: skip
    for row in part_rows():
        part = row["part"]
        yield NewItem(
            _PARTS.get(part, f"{part.capitalize()}s"), Item.PART, part=part,
            walk=f"P-{part.replace(' ', '-')}", cost=Decimal(row["cost"]),
        ), int(row["count"])  # fmt: skip
