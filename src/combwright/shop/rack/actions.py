"""Everything that changes the rack; each action is done as a whole or not at all."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from combwright.comb.seats import Mount
from combwright.shop.people.models import Person
from combwright.shop.rack.models import Batch, Bin, Entry
from combwright.shop.rack.posting import NotEnough, NotSo, SetAside, post

__all__ = ["NotEnough", "NotSo", "SetAside", "post"]


@dataclass(frozen=True, slots=True)
class NewBin:
    """What a new bin is to hold."""

    code: str
    midi: int
    slot_um: int
    mount: Mount
    millicents: int = 0
    cut: str = ""
    walk: str = ""
    cost: Decimal = Decimal(0)


@dataclass(frozen=True, slots=True)
class Slice:
    """One plate of a sliced set: the bin it goes to, and how many came out whole."""

    bin: NewBin
    whole: int


@transaction.atomic
def make_bin(new: NewBin, batch_code: str) -> Bin:
    """Make an empty bin, and its batch when that is new.

    Raises
    ------
    NotSo
        If there is a bin of that name.
    """
    batch, _made = Batch.objects.get_or_create(code=batch_code)
    facts = {
        "midi": new.midi,
        "millicents": new.millicents,
        "slot_um": new.slot_um,
        "mount": new.mount,
        "batch": batch,
        "cut": new.cut,
        "walk": new.walk,
        "cost": new.cost,
    }
    # Of two who make one bin at once the second finds it there, after the first is done.
    made, is_new = Bin.objects.get_or_create(code=new.code, defaults=facts)
    if not is_new:
        raise NotSo(_("There is a bin %(bin)s already; choose another name.") % {"bin": new.code})
    return made


@transaction.atomic
def receive(person: Person, plate_bin: Bin, plates: int, *, note: str = "") -> Entry:
    """Take plates into a bin.

    Raises
    ------
    NotSo
        If there are none.
    """
    _check_number(plates)
    return post(person, Entry.RECEIVED, {plate_bin.pk: plates}, note=note)


@transaction.atomic
def slice_set(person: Person, batch_code: str, slices: Sequence[Slice], *, note: str = "") -> Entry:
    """Slice factory sets into bins, existing ones or new; what broke in slicing is not counted in.

    Raises
    ------
    NotSo
        If a bin that exists holds other plates than those, or two slices name one bin.
    """
    codes = [each.bin.code for each in slices]
    if len(set(codes)) < len(codes):
        twice = next(code for code in codes if codes.count(code) > 1)
        raise NotSo(_("Bin %(bin)s is named twice; give each plate its own.") % {"bin": twice})
    known = {b.code: b for b in Bin.objects.select_related("batch").filter(code__in=codes)}
    changes = {}
    for each in slices:
        plate_bin = known.get(each.bin.code) or make_bin(each.bin, batch_code)
        check_same(plate_bin, each.bin, batch_code)
        changes[plate_bin.pk] = each.whole
    return post(person, Entry.SLICED, changes, note=note)


def check_same(there: Bin, new: NewBin, batch_code: str) -> None:
    """Refuse a bin whose plates differ: what is measured must not be lost without a word.

    Raises
    ------
    NotSo
        If note, batch, slot, mount or offset differ; an offset of 0 says nothing.
    """
    facts = {"bin": there.code, "note": there.note, "batch": there.batch.code}
    if there.midi != new.midi or there.batch.code != batch_code:
        raise NotSo(_("Bin %(bin)s holds %(note)s of batch %(batch)s; choose another bin.") % facts)
    measures = {"slot": f"{there.slot_mm:.2f}", "mount": there.get_mount_display()}
    if there.slot_um != new.slot_um or there.mount != new.mount:
        raise NotSo(
            _(
                "Bin %(bin)s holds plates with a slot of %(slot)s mm, mounted at the %(mount)s; "
                "put this one into another bin, or give it these measures."
            )
            % {**facts, **measures}
        )
    if new.millicents not in {0, there.millicents}:
        raise NotSo(
            _("Bin %(bin)s holds plates that are %(cents)s cents off; choose another bin.")
            % {**facts, "cents": f"{there.cents:+.1f}"}
        )


@transaction.atomic
def scrap(person: Person, plate_bin: Bin, plates: int, *, note: str) -> Entry:
    """Take broken or worn plates out of a bin, for good.

    Raises
    ------
    NotEnough
        If the bin holds fewer.
    """
    _check_number(plates)
    return post(person, Entry.SCRAPPED, {plate_bin.pk: -plates}, note=note)


@transaction.atomic
def put_back(person: Person, plate_bin: Bin, plates: int, *, note: str) -> Entry:
    """Put plates back into a bin, as from an instrument that was taken apart."""
    _check_number(plates)
    return post(person, Entry.RETURNED, {plate_bin.pk: plates}, note=note)


@transaction.atomic
def move(person: Person, source: Bin, target: Bin, plates: int, *, note: str = "") -> Entry:
    """Move plates into another bin of the same note and batch.

    Raises
    ------
    NotEnough
        If the source holds fewer.
    NotSo
        If the bins are one, or hold different plates.
    """
    _check_number(plates)
    if source.pk == target.pk:
        raise NotSo(_("Plates are moved from one bin to another; both are %s.") % source.code)
    if source.midi != target.midi or source.batch_id != target.batch_id:
        raise NotSo(
            _("Bin %(target)s holds other plates than %(source)s; a bin holds one kind.")
            % {"target": target.code, "source": source.code}
        )
    return post(person, Entry.MOVED, {source.pk: -plates, target.pk: plates}, note=note)


@transaction.atomic
def count(person: Person, plate_bin: Bin, found: int, *, note: str = "") -> Entry:
    """Write down how many plates were found in a bin; a count that agrees is written too.

    Raises
    ------
    NotSo
        If the number is below 0.
    """
    if found < 0:
        raise NotSo(_("A count of %d cannot be; 0 is the least.") % found)
    there = Bin.objects.select_for_update().get(pk=plate_bin.pk)
    entry = post(person, Entry.COUNTED, {there.pk: found - there.count}, note=note)
    Bin.objects.filter(pk=there.pk).update(counted_at=timezone.now())
    return entry


@transaction.atomic
def take_back(person: Person, entry: Entry, *, note: str) -> Entry:
    """Undo an entry by writing its opposite; the entry itself stays.

    Raises
    ------
    NotSo
        If it was taken back before, or plates or parts went to an order with it.
    NotEnough
        If its plates or items are no longer there.
    """
    entry = Entry.objects.select_for_update().get(pk=entry.pk)
    if entry.corrections.exists():
        raise NotSo(_("Entry %d was taken back before.") % entry.pk)
    if entry.why in (Entry.PICKED, Entry.BUILT):
        raise NotSo(
            _("Entry %d was written for an order; put its plates back there, or cancel it.")
            % entry.pk
        )
    changes = {line.bin_id: -line.change for line in entry.lines.all()}
    items = {line.item_id: -line.change for line in entry.item_lines.all()}
    return post(person, Entry.CORRECTED, changes, items=items, note=note, corrects=entry)


@transaction.atomic
def hold(batch: Batch, because: str) -> None:
    """Keep a batch out of every plan and pick.

    Raises
    ------
    NotSo
        If no reason is given.
    """
    if not because.strip():
        raise NotSo(_("Say why batch %s is held.") % batch.code)
    Batch.objects.filter(pk=batch.pk).update(held=True, held_because=because.strip())


@transaction.atomic
def release(batch: Batch) -> None:
    """Let a batch into plans and picks again."""
    Batch.objects.filter(pk=batch.pk).update(held=False, held_because="")


def _check_number(plates: int) -> None:
    if plates < 1:
        raise NotSo(_("%d plates cannot be; give 1 or more.") % plates)
