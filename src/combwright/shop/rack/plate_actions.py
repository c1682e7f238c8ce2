"""What changes single plates: each is done as a whole with its line in the ledger, or not at all.

A plate is locked before its bins, so that two people who move the same plate wait for one another.
"""

import secrets

from django.db import transaction
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from combwright.shop.people.models import Person
from combwright.shop.rack import actions
from combwright.shop.rack.actions import NotSo
from combwright.shop.rack.models import Bin, Plate
from combwright.shop.rack.plate_codes import plate_code

MOST_AT_ONCE = 200


@transaction.atomic
def label_plates(plate_bin: Bin, plates: int) -> list[Plate]:
    """Give so many plates of a bin a code each; the bin's count does not change.

    The codes come from the rows' own numbers, which the database gives out once: two people who
    label at the same time never get the same.

    Raises
    ------
    NotSo
        If the bin does not hold so many plates without a label.
    """
    if not 1 <= plates <= MOST_AT_ONCE:
        raise NotSo(
            _("%(n)d plates cannot be labelled at once; give 1 to %(most)d.")
            % {"n": plates, "most": MOST_AT_ONCE}
        )
    there = Bin.objects.select_for_update().get(pk=plate_bin.pk)
    labelled = there.labelled.count()
    if labelled + plates > there.count:
        raise _too_many(there, labelled, plates)
    made = Plate.objects.bulk_create(
        Plate(
            code="?" + secrets.token_hex(9),
            bin=there,
            batch_id=there.batch_id,
            midi=there.midi,
            slot_um=there.slot_um,
            mount=there.mount,
        )
        for _plate in range(plates)
    )
    for plate in made:
        plate.code = plate_code(plate.pk)
    Plate.objects.bulk_update(made, ["code"])
    return made


def _too_many(there: Bin, labelled: int, plates: int) -> NotSo:
    free = max(there.count - labelled, 0)
    text = ngettext(
        "Bin %(bin)s has %(free)d plate without a label; %(n)d cannot be labelled.",
        "Bin %(bin)s has %(free)d plates without a label; %(n)d cannot be labelled.",
        free,
    )
    return NotSo(text % {"bin": there.code, "free": free, "n": plates})


@transaction.atomic
def measure(plate: Plate, millicents: int | None) -> None:
    """Write down a plate's own measured offset; None forgets it."""
    Plate.objects.filter(pk=plate.pk).update(millicents=millicents)


@transaction.atomic
def move(person: Person, plate: Plate, target: Bin, *, note: str = "") -> None:
    """Move a plate into another bin of the same note and batch.

    Raises
    ------
    NotSo
        If the plate has left the rack, or that bin is its own or holds other plates.
    NotEnough
        If its bin is empty by the ledger.
    """
    there, source = _in_the_rack(plate)
    actions.move(person, source, target, 1, note=_about(there, note))
    Plate.objects.filter(pk=there.pk).update(bin=target)


@transaction.atomic
def scrap(person: Person, plate: Plate, because: str) -> None:
    """Take a plate out of the rack for good.

    Raises
    ------
    NotSo
        If it has left before, or no reason is given.
    NotEnough
        If its bin is empty by the ledger.
    """
    if not because.strip():
        raise NotSo(_("Say why plate %s is scrapped.") % plate.code)
    there, source = _in_the_rack(plate)
    actions.scrap(person, source, 1, note=_about(there, because))
    Plate.objects.filter(pk=there.pk).update(bin=None, left_because=because.strip()[:200])


@transaction.atomic
def put_back(person: Person, plate: Plate, target: Bin, *, note: str) -> None:
    """Put a plate that has left the rack back into a bin of its note and batch.

    Raises
    ------
    NotSo
        If it is in the rack or with an order, or that bin holds other plates.
    """
    there = Plate.objects.select_for_update().get(pk=plate.pk)
    if there.bin_id is not None:
        raise NotSo(_("Plate %s is in the rack; move it instead.") % there.code)
    # Orders are of a room above; only their word for it is known here.
    if Plate.objects.filter(pk=there.pk, taken__state__in=("picked", "fitted")).exists():
        facts = {"plate": there.code, "order": there.left_because}
        raise NotSo(_("Plate %(plate)s is with order %(order)s; it goes back from there.") % facts)
    if (there.midi, there.batch_id) != (target.midi, target.batch_id):
        raise NotSo(
            _("Bin %(bin)s holds other plates than %(plate)s; a bin holds one kind.")
            % {"bin": target.code, "plate": there.code}
        )
    actions.put_back(person, target, 1, note=_about(there, note))
    Plate.objects.filter(pk=there.pk).update(bin=target, left_because="")


def _in_the_rack(plate: Plate) -> tuple[Plate, Bin]:
    there = Plate.objects.select_for_update().get(pk=plate.pk)
    if there.bin_id is None:
        raise NotSo(
            _("Plate %(plate)s has left the rack: %(why)s.")
            % {"plate": there.code, "why": there.left_because}
        )
    return there, Bin.objects.get(pk=there.bin_id)


def _about(plate: Plate, note: str) -> str:
    said = _("plate %s") % plate.code
    return f"{said}: {note.strip()}"[:300] if note.strip() else said
