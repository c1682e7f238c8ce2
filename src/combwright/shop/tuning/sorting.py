"""Sorting a bin by pitch: each plate is heard on a jig and laid where plates of its pitch lie."""

import math
from dataclasses import dataclass
from decimal import Decimal
from typing import Final
from uuid import UUID

from django.db import IntegrityError, transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from combwright.shop.people.models import Person
from combwright.shop.rack import actions as rack
from combwright.shop.rack.actions import NewBin, NotSo, make_bin
from combwright.shop.rack.models import MILLICENTS_PER_CENT, Bin
from combwright.shop.tuning.models import Microphone, Sorted

#: Cents between one bin and the next.
STEPS: Final = (2, 5, 10)
#: A plate further off is another note.
FARTHEST_CENTS: Final = 100.0


@dataclass(frozen=True, slots=True)
class OnJig:
    """A plate as it was heard on a jig: cents above its bin's note, and how that was heard."""

    key: UUID
    cents: float
    sd_cents: float
    jig: str
    level_db: float
    temperature: Decimal | None
    microphone: Microphone | None


@transaction.atomic
def lay(person: Person, source: Bin, heard: OnJig, *, step: int) -> Sorted:
    """Lay a plate of a bin where plates of its pitch lie; one that comes twice is laid once.

    Parameters
    ----------
    source : Bin
        Where it was taken from.
    step : int
        Cents between one bin and the next; its pitch is rounded to a multiple of that.

    Raises
    ------
    NotSo
        If it is another note, or the bin holds no plate that is free.
    """
    known = Sorted.objects.filter(key=heard.key).first()
    if known is not None:
        return known
    if step not in STEPS:
        raise NotSo(_("Bins are %(known)s cents apart, not %(step)d.") % _apart(step))
    if abs(heard.cents) > FARTHEST_CENTS:
        facts = {"cents": f"{heard.cents:+.0f}", "note": source.note}
        raise NotSo(_("%(cents)s cents off %(note)s is another note; is it from this bin?") % facts)
    target = _bin_at(source, step * round(heard.cents / step))
    if target.pk != source.pk:
        rack.move(person, source, target, 1, note=_note(heard))
    try:
        with transaction.atomic():
            return Sorted.objects.create(
                key=heard.key, source=source, target=target, by=person,
                off_mc=round(heard.cents * MILLICENTS_PER_CENT),
                sd_mc=math.ceil(heard.sd_cents * MILLICENTS_PER_CENT), jig=heard.jig,
                level_db=heard.level_db, temperature=heard.temperature,
                microphone=heard.microphone,
            )  # fmt: skip
    except IntegrityError:
        raise NotSo(_("This plate was laid by another way at the same moment.")) from None


def _apart(step: int) -> dict[str, object]:
    return {"known": ", ".join(map(str, STEPS)), "step": step}


def _note(heard: OnJig) -> str:
    facts = {"cents": f"{heard.cents:+.1f}", "jig": heard.jig}
    if heard.jig:
        return _("heard at %(cents)s cents on jig %(jig)s") % facts
    return _("heard at %(cents)s cents on a jig") % facts


def _bin_at(source: Bin, cents: int) -> Bin:
    """Return the bin of such plates at an offset: this one, one that is there, or a new one."""
    offset = cents * MILLICENTS_PER_CENT
    if source.millicents == offset:
        return source
    alike = Bin.objects.filter(
        midi=source.midi, millicents=offset, slot_um=source.slot_um, mount=source.mount,
        batch_id=source.batch_id, held=source.held,
    ).order_by("pk").first()  # fmt: skip
    if alike is not None:
        return alike
    new = NewBin(
        code=_free_code(source.code, cents), midi=source.midi, slot_um=source.slot_um,
        mount="front" if source.mount == "front" else "rear", millicents=offset,
        cut=source.cut, walk=source.walk, cost=source.cost,
    )  # fmt: skip
    made = make_bin(new, source.batch.code)
    if source.held:
        Bin.objects.filter(pk=made.pk).update(held=True)
        made.held = True
    return made


def _free_code(code: str, cents: int) -> str:
    """Return `A-03 at +5`; with a number after it where that name is taken."""
    stem = f"{code.partition(' at ')[0][:26]} at {cents:+d}"
    there = set(Bin.objects.filter(code__startswith=stem).values_list("code", flat=True))
    names = (stem, *(f"{stem} ({n})" for n in range(2, len(there) + 3)))
    return next(name for name in names if name not in there)


@transaction.atomic
def take_back(person: Person, laid: Sorted) -> Sorted:
    """Lay a plate back into the bin that it was taken from; once.

    Raises
    ------
    NotEnough
        If the other bin no longer holds one that is free.
    """
    there = Sorted.objects.select_for_update().select_related("source", "target").get(pk=laid.pk)
    if there.undone_at is not None:
        return there
    if there.source_id != there.target_id:
        rack.move(person, there.target, there.source, 1, note=_("laid back: heard wrongly"))
    there.undone_at, there.undone_by = timezone.now(), person
    there.save(update_fields=["undone_at", "undone_by"])
    return there
