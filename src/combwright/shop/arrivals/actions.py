"""Everything that changes a measured sample: drawing it, readings, the verdict, new offsets.

An inspection is locked first, then its batch and bins, so that two who enter readings wait for one
another, and the verdict is given once.
"""

import secrets
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from math import ceil
from typing import Any, Final
from uuid import UUID

from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from combwright.allocation.walking import natural_key
from combwright.inspection.chances import BadPlan
from combwright.inspection.plans import Plan, Verdict, draw
from combwright.shop.arrivals import queries
from combwright.shop.arrivals.models import Draw, Inspection, Reading
from combwright.shop.people import journal
from combwright.shop.people.models import Person
from combwright.shop.rack import actions as rack
from combwright.shop.rack import change_actions
from combwright.shop.rack.actions import NotSo
from combwright.shop.rack.models import MILLICENTS_PER_CENT, Batch, Bin

FARTHEST_CENTS: Final = 600
_LONGEST_REASON: Final = 200


class Decided(NotSo):
    """A sample that says all it can say."""

    def __init__(self, inspection: Inspection) -> None:
        super().__init__(
            _("This sample is closed: %(state)s. Nothing more is measured in it.")
            % {"state": inspection.get_state_display()}
        )


@dataclass(frozen=True, slots=True)
class How:
    """How a reading was taken by microphone.

    Parameters
    ----------
    key : UUID
        Made where it was heard; a reading that comes twice is one.
    sd_cents : float
        Its standard error.
    level_db : float
        Of the breath.
    temperature : Decimal or None
        In degrees Celsius.
    """

    key: UUID
    sd_cents: float
    jig: str
    level_db: float
    temperature: Decimal | None


@dataclass(frozen=True, slots=True)
class Chosen:
    """A plan as somebody chose it, with what it was computed from; shares in percent."""

    plan: Plan
    tolerance: int
    good_percent: Decimal
    bad_percent: Decimal | None = None
    producer_percent: Decimal | None = None
    consumer_percent: Decimal | None = None
    letter: str = ""


@transaction.atomic
def start(
    person: Person, batch: Batch, chosen: Chosen, *, note: str = "", seed: int | None = None
) -> Inspection:
    """Draw a sample: which plates of which bins are to be measured.

    Raises
    ------
    NotSo
        If the bins hold fewer plates than the sample, or one of the batch is being measured.
    """
    Batch.objects.select_for_update().get(pk=batch.pk)
    if Inspection.objects.filter(batch=batch, state=Inspection.OPEN).exists():
        raise NotSo(
            _("A sample of batch %s is being measured; finish it or give it up first.") % batch.code
        )
    seed = secrets.randbelow(2**53) if seed is None else seed
    bins = sorted(
        queries.bins_of(batch),
        key=lambda each: (not each.walk, natural_key(each.walk), natural_key(each.code)),
    )
    try:
        taken = draw([each.count for each in bins], chosen.plan.sample, seed)
    except BadPlan as error:
        raise NotSo(str(error)) from error
    made = Inspection.objects.create(
        batch=batch, made_by=person, note=note, seed=seed, tolerance=chosen.tolerance,
        way=Inspection.LETTER if chosen.letter else Inspection.COMPUTED, letter=chosen.letter,
        lot=chosen.plan.lot, sample=chosen.plan.sample, accept=chosen.plan.accept,
        good_percent=chosen.good_percent, bad_percent=chosen.bad_percent,
        producer_percent=chosen.producer_percent, consumer_percent=chosen.consumer_percent,
    )  # fmt: skip
    drawn = [(each, which) for each, which in zip(bins, taken, strict=True) if which]
    Draw.objects.bulk_create(
        Draw(
            inspection=made, bin=each, place=place, plates=len(which), which=which,
            expected=each.millicents,
        )
        for place, (each, which) in enumerate(drawn, start=1)
    )  # fmt: skip
    return made


@transaction.atomic
def add_reading(
    inspection: Inspection,
    plate_bin: Bin,
    person: Person,
    *,
    cents: Decimal | float | None = None,
    broken: bool = False,
    how: How | None = None,
) -> Reading:
    """Write down one measured plate; the batch is held or accepted as soon as that is certain.

    Parameters
    ----------
    inspection : Inspection
        The sample.
    plate_bin : Bin
        The bin that the plate was taken from.
    person : Person
        Who measured.
    cents : Decimal or float or None
        How far the plate is off its bin's note; None when it is broken.
    broken : bool
        Whether it does not speak, or cannot be used.
    how : How or None
        How it was heard, when a microphone did.

    Raises
    ------
    Decided
        If the sample is closed.
    NotSo
        If the sample takes no (more) plates of the bin, or the reading cannot be.
    """
    known = Reading.objects.filter(key=how.key).first() if how else None
    if known is not None:
        return known
    locked = _locked(inspection)
    drawn = Draw.objects.filter(inspection=locked, bin=plate_bin).first()
    _check_reading(plate_bin, cents, broken=broken)
    if drawn is None:
        raise NotSo(_("The sample takes no plates of bin %s.") % plate_bin.code)
    measured = Reading.objects.filter(inspection=locked, bin=plate_bin, struck_at=None).count()
    if measured >= drawn.plates:
        raise NotSo(
            _("All %(n)d plates that the sample takes of bin %(bin)s are measured.")
            % {"n": drawn.plates, "bin": plate_bin.code}
        )
    millicents = None if broken or cents is None else round(cents * MILLICENTS_PER_CENT)
    bad = millicents is None or abs(millicents - drawn.expected) > locked.tolerance
    reading = Reading.objects.create(
        inspection=locked, bin=plate_bin, millicents=millicents, broken=broken, bad=bad, by=person,
        **_told(how),
    )  # fmt: skip
    _decide(locked, person)
    return reading


def _told(how: How | None) -> dict[str, Any]:
    if how is None:
        return {}
    return {
        "key": how.key, "sd_mc": ceil(how.sd_cents * MILLICENTS_PER_CENT), "jig": how.jig,
        "level_db": how.level_db, "temperature": how.temperature,
    }  # fmt: skip


def _check_reading(plate_bin: Bin, cents: Decimal | float | None, *, broken: bool) -> None:
    if broken != (cents is None):
        raise NotSo(_("Give the cents of the plate, or say that it is broken; not both."))
    if cents is not None and not -FARTHEST_CENTS <= cents <= FARTHEST_CENTS:
        raise NotSo(
            _("%(cents)s cents off %(note)s cannot be; give %(least)d to %(most)d.")
            % {
                "cents": cents,
                "note": plate_bin.note,
                "least": -FARTHEST_CENTS,
                "most": FARTHEST_CENTS,
            }
        )


def _decide(inspection: Inspection, person: Person) -> None:
    """Close the sample when its verdict is certain; a refused batch is held in the same moment."""
    far = queries.progress(inspection)
    if far.verdict is Verdict.GO_ON:
        return
    accepted = far.verdict is Verdict.ACCEPT
    _close(inspection, person, Inspection.ACCEPTED if accepted else Inspection.REFUSED)
    if not accepted:
        because = _("sample %(n)d: %(bad)d bad of %(measured)d measured, %(accept)d allowed") % {
            "n": inspection.pk,
            "bad": far.bad,
            "measured": far.measured,
            "accept": inspection.accept,
        }
        batch = Batch.objects.select_for_update().get(pk=inspection.batch_id)
        if batch.held and batch.held_because:
            because = f"{batch.held_because}; {because}"
        rack.hold(batch, because[:_LONGEST_REASON])


@transaction.atomic
def strike(reading: Reading, person: Person) -> None:
    """Strike out a reading that was mistyped; it stays to be seen and no longer counts.

    Raises
    ------
    Decided
        If the sample is closed.
    """
    _locked(reading.inspection)
    Reading.objects.filter(pk=reading.pk, struck_at=None).update(
        struck_at=timezone.now(), struck_by=person
    )


@transaction.atomic
def give_up(inspection: Inspection, person: Person) -> None:
    """End a sample without a verdict.

    Raises
    ------
    Decided
        If it is closed already.
    """
    _close(_locked(inspection), person, Inspection.GIVEN_UP)


@transaction.atomic
def take_offsets(
    inspection: Inspection, keys: Sequence[int], person: Person, *, shift_mc: int = 0
) -> int:
    """Make the means of the sample the measured offsets of some of its bins; return how many.

    What a bin's offset was stays with the sample and with the bin's own changes.

    Parameters
    ----------
    keys : sequence of int
        The bins.
    shift_mc : int
        How much higher plates sound in a seat than where the sample was measured, in thousandths
        of a cent; it is added to every mean.

    Raises
    ------
    NotSo
        If the sample is still being measured, or none of the bins has a mean to take over.
    """
    inspection = Inspection.objects.select_for_update().get(pk=inspection.pk)
    if inspection.open:
        raise NotSo(_("Measure the sample to its end first; then its means can be taken over."))
    rows = [
        row
        for row in queries.bin_rows(inspection, queries.readings_of(inspection))
        if row.draw.bin_id in keys and row.mean is not None and row.draw.after is None
    ]
    if not rows:
        raise NotSo(_("Tick bins whose mean is to be taken over; none that has one is ticked."))
    for row in sorted(rows, key=lambda each: each.draw.bin_id):
        _take_offset(inspection, row, person, shift_mc)
    return len(rows)


def _take_offset(
    inspection: Inspection, row: queries.BinRow, person: Person, shift_mc: int
) -> None:
    there = Bin.objects.select_for_update().get(pk=row.draw.bin_id)
    row.draw.before, row.draw.after = there.millicents, row.millicents + shift_mc
    row.draw.shift = shift_mc
    row.draw.save(update_fields=["before", "after", "shift"])
    note = _("mean of %(n)d plates, sample %(sample)d") % {
        "n": row.measured - row.broken,
        "sample": inspection.pk,
    }
    change_actions.change_bin(person, there, {"millicents": row.draw.after}, note=note)
    journal.write(
        "offset_taken_over",
        {
            "bin": there.code, "before": row.draw.before, "after": row.draw.after,
            "sample": inspection.pk, "by": person.pk,
        },
    )  # fmt: skip


def _close(inspection: Inspection, person: Person, state: str) -> None:
    inspection.state = state
    inspection.decided_at, inspection.decided_by = timezone.now(), person
    inspection.save(update_fields=["state", "decided_at", "decided_by"])


def _locked(inspection: Inspection) -> Inspection:
    locked = Inspection.objects.select_for_update().get(pk=inspection.pk)
    if not locked.open:
        raise Decided(locked)
    return locked
