"""From a plan to its sheets: what to pick, what to build, what to label."""

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from combwright.allocation.answer import Made, Placed, Plan, Served
from combwright.allocation.orders import Design, Order, Want
from combwright.allocation.stock import Bin, Stock
from combwright.comb.combs import Chamber, Comb
from combwright.notes.names import note_name
from combwright.sheets.figures import counted, day, millimetres, seat_text
from combwright.sheets.labels import Label
from combwright.sheets.order_sheets import CopySheet, KitLine, OrderSheet, PlateLine
from combwright.sheets.picks import PartPick, Pick, PickUse, in_walking_order


@dataclass(frozen=True, slots=True)
class Sheets:
    """Everything to print for a plan.

    Parameters
    ----------
    picks : tuple of Pick
        In walking order.
    parts : tuple of PartPick
        What the ready orders use besides plates.
    orders : tuple of OrderSheet
        The ready orders, in the plan's order.
    bin_labels, order_labels : tuples of Label
        One for each bin to pick from, one for each copy to build.
    """

    picks: tuple[Pick, ...]
    parts: tuple[PartPick, ...]
    orders: tuple[OrderSheet, ...]
    bin_labels: tuple[Label, ...]
    order_labels: tuple[Label, ...]


def sheets_of(plan: Plan, stock: Stock, comb: Comb) -> Sheets:
    """Turn a plan into what is printed of it.

    Parameters
    ----------
    plan : Plan
        Only its ready orders are printed.
    stock : Stock
        The bins that the plan drew on.
    comb : Comb
        The workshop's usual comb, for designs that name none.
    """
    bins = {each.code: each for each in stock.bins}
    ready = [served for served in plan.served if served.ready]
    orders = tuple(_order_sheet(served, bins, comb) for served in ready)
    picks = tuple(in_walking_order(list(_picks(ready, bins))))
    parts: Counter[str] = Counter()
    for sheet in orders:
        for copy in sheet.copies:
            parts.update(copy.parts)
    return Sheets(
        picks=picks,
        parts=tuple(PartPick(name, count) for name, count in sorted(parts.items()) if count),
        orders=orders,
        bin_labels=tuple(_bin_label(pick) for pick in picks),
        order_labels=tuple(label for sheet in orders for label in _order_labels(sheet)),
    )


def _order_sheet(served: Served, bins: Mapping[str, Bin], comb: Comb) -> OrderSheet:
    order = served.order
    designs = {(copy.row, copy.copy): copy.design for copy in order.copies}
    return OrderSheet(
        order=order.name,
        copies=tuple(
            _copy_sheet(made, designs[made.row, made.copy], bins, comb) for made in served.made
        ),
        due=order.due,
        priority=order.priority,
        promised=order.promised,
        arrives=served.arrives,
        part=_part(order),
    )


def _part(order: Order) -> str:
    if not order.split:
        return ""
    copy = order.copies[0]
    return f"row {copy.row}, copy {copy.copy}, ships alone"


def _copy_sheet(made: Made, design: Design, bins: Mapping[str, Bin], comb: Comb) -> CopySheet:
    wants = [placed.want for placed in made.seats or [kit.placed for kit in made.kit]]
    return CopySheet(
        row=made.row,
        copy=made.copy,
        comb=comb_of(wants, design.comb or comb),
        seats=tuple(
            _line(placed, bins)
            for placed in sorted(made.seats, key=lambda p: (p.want.hole, p.want.deck == "lower"))
        ),
        kit=tuple(KitLine(kit.label, _line(kit.placed, bins)) for kit in made.kit),
        parts=design.parts,
        wish=design.title,
    )


def _line(placed: Placed, bins: Mapping[str, Bin]) -> PlateLine:
    found = bins.get(placed.bin)
    return PlateLine(placed, found.mount, found.slot_mm) if found else PlateLine(placed)


def comb_of(wants: Sequence[Want], comb: Comb) -> Comb:
    """Return the comb if the wants agree with it, else one drawn up from them.

    A want carries the length its chamber takes but not its comb. In a comb drawn up, a chamber
    without a want gets the length of the nearest with one.
    """
    if all(w.hole <= comb.holes and comb.takes_mm(w.hole) == w.takes_mm for w in wants):
        return comb
    takes = {want.hole: want.takes_mm for want in wants}
    lengths = [
        takes[min(takes, key=lambda known: abs(known - hole))] for hole in range(1, max(takes) + 1)
    ]
    return Comb("as ordered", tuple(Chamber(length, 0.0, 0.0) for length in lengths))


def _picks(ready: Iterable[Served], bins: Mapping[str, Bin]) -> Iterator[Pick]:
    uses: dict[str, list[PickUse]] = {}
    for served in ready:
        for made in served.made:
            for code, places in _places(made).items():
                copy = _which_copy(served, made)
                uses.setdefault(code, []).append(PickUse(served.order.name, copy, places))
    for code, found in uses.items():
        lying = bins[code]
        yield Pick(
            bin=code,
            walk=lying.walk,
            midi=lying.midi,
            batch=lying.batch,
            mount=lying.mount,
            slot_mm=lying.slot_mm,
            uses=tuple(found),
            arrives=lying.arrives,
        )


def _places(made: Made) -> dict[str, tuple[str, ...]]:
    """Return what each bin's plates are for."""
    places: dict[str, tuple[str, ...]] = {}
    for placed in made.seats:
        places[placed.bin] = (*places.get(placed.bin, ()), seat_text(placed.want))
    for kit in made.kit:
        code = kit.placed.bin
        places[code] = (*places.get(code, ()), f"kit {kit.label}")
    return places


def _which_copy(served: Served, made: Made) -> str:
    if len(served.made) == 1 and not served.order.split:
        return ""
    return f"row {made.row} copy {made.copy}"


def _bin_label(pick: Pick) -> Label:
    batch = f"batch {pick.batch}" if pick.batch else ""
    about = (batch, f"{pick.mount} mount", f"slot {millimetres(pick.slot_mm)}")
    return Label(pick.bin, note_name(pick.midi), about)


def _order_labels(sheet: OrderSheet) -> Iterator[Label]:
    several = len(sheet.copies) > 1 or bool(sheet.part)
    for copy in sheet.copies:
        which = f"row {copy.row}, copy {copy.copy}" if several else ""
        plates = counted(len(copy.kit), "plate")
        kit = "" if not copy.kit else f"kit: {plates}" if copy.seats else plates
        due = f"due {day(sheet.due)}" if sheet.due else ""
        yield Label(sheet.order, due, (copy.wish, which, kit))
