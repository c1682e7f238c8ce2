"""Everything that writes takes: taking one in, keeping what was heard of it, striking it out."""

from dataclasses import dataclass
from decimal import Decimal
from typing import Any, Final
from uuid import UUID

from django.db import IntegrityError, transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from combwright.errors import CombwrightError
from combwright.files.recordings import Recording as Packed
from combwright.files.results import Read
from combwright.shop.jobs import actions as jobs
from combwright.shop.people.models import Person
from combwright.shop.rack.actions import NotSo
from combwright.shop.register.models import Heard, Instrument, Recording, Take
from combwright.shop.tuning.aims import aims
from combwright.shop.tuning.models import Comparison, Microphone
from combwright.shop.tuning.take_hearing import Found
from combwright.shop.tuning.take_order import targets

#: The kind of job that hears a take (`tasks.py`).
KIND: Final = "hear"
#: The kind of job that compares two.
KIND_COMPARING: Final = "compare takes"
_MOST_LETTERS: Final = 500


@dataclass(frozen=True, slots=True)
class NewTake:
    """A take as it is handed in.

    Parameters
    ----------
    key : UUID
        Made where it was recorded; one that comes twice is kept once.
    recording : Read of Recording
        Packed, with what is to be warned of.
    played : str
        The order of playing; empty is hole by hole, blow first.
    """

    key: UUID
    title: str
    recording: Read[Packed]
    condition: str
    temperature: Decimal | None
    microphone: Microphone | None
    played: str


@transaction.atomic
def take_in(
    person: Person, instrument: Instrument, new: NewTake, *, by_worker: bool = True
) -> Take:
    """Keep a take with its sound, and have it heard by the next worker that is free.

    Parameters
    ----------
    by_worker : bool
        False where whoever calls hears it at once.

    Raises
    ------
    NotSo
        If its key is that of another instrument's take.
    CombwrightError
        If the instrument holds no plate, or its seats are not those that were played.
    """
    known = Take.objects.filter(key=new.key).first()
    if known is not None:
        return same_take(known, instrument)
    targets(aims(instrument), new.played)
    packed = new.recording.value
    try:
        with transaction.atomic():
            take = Take.objects.create(
                key=new.key, instrument=instrument, condition=new.condition,
                temperature=new.temperature, microphone=new.microphone, played=new.played,
                title=new.title, seconds=packed.seconds, warnings=list(new.recording.warnings),
                by=person,
            )  # fmt: skip
    except IntegrityError:  # the same one came by two ways at once
        return same_take(Take.objects.get(key=new.key), instrument)
    Recording.objects.create(take=take, data=packed.data, rate=packed.rate)
    if by_worker:
        _have_heard(take, person)
    return take


def same_take(known: Take, instrument: Instrument) -> Take:
    """Return a take that came before under the same key.

    Raises
    ------
    NotSo
        If it is another instrument's.
    """
    if known.instrument_id != instrument.pk:
        raise NotSo(
            _("This key belongs to a take of another instrument; record or choose the file again.")
        )
    return known


def job_name(take: Take) -> str:
    """Return the name under which one job at most hears a take."""
    return f"hear take {take.pk}"


def _have_heard(take: Take, person: Person) -> None:
    jobs.start(KIND, {"take": take.pk}, person, single=job_name(take))


@transaction.atomic
def hear_again(person: Person, take: Take) -> None:
    """Have a take heard whose job failed or was stopped; one that was heard stays as it is."""
    there = Take.objects.select_for_update().get(pk=take.pk)
    if there.state == Take.WAITING:
        _have_heard(there, person)


@transaction.atomic
def keep_heard(take: Take, found: Found | CombwrightError) -> Take:
    """Keep what was found in a take, or why it could not be heard; once, whoever comes again."""
    there = Take.objects.select_for_update().get(pk=take.pk)
    if there.state != Take.WAITING:
        return there
    if isinstance(found, CombwrightError):
        there.state, there.fault = Take.UNHEARD, str(found)[:_MOST_LETTERS]
    else:
        there.state = Take.HEARD
        there.missing, there.ignored = list(found.missing), list(found.ignored)
        there.remarks = list(found.remarks)
        Heard.objects.bulk_create(found.readings)
    there.save(update_fields=["state", "fault", "missing", "ignored", "remarks"])
    return there


@transaction.atomic
def strike_take(person: Person, take: Take, *, out: bool) -> Take:
    """Strike a take out, with all its readings, or let it count again."""
    there = Take.objects.select_for_update().get(pk=take.pk)
    if (there.struck_at is not None) != out:
        there.struck_at = timezone.now() if out else None
        there.struck_by = person if out else None
        there.save(update_fields=["struck_at", "struck_by"])
    return there


@transaction.atomic
def have_compared(person: Person, a: Take, b: Take, *, matched: bool) -> Comparison:
    """Have two takes compared by the next worker that is free; once for all who ask.

    Raises
    ------
    NotSo
        If it is one take only, or one of them was not heard.
    """
    for take in (a, b):
        if take.state != Take.HEARD:
            raise NotSo(_("Take %d was not heard; compare others.") % take.pk)
    if a.pk == b.pk:
        raise NotSo(_("Take %d would be compared with itself; choose another one.") % a.pk)
    made, _new = Comparison.objects.get_or_create(
        a=a, b=b, matched=matched, defaults={"made_by": person}
    )
    if made.found is None and not made.fault:
        jobs.start(KIND_COMPARING, {"comparison": made.pk}, person, single=comparing_name(made))
    return made


def comparing_name(made: Comparison) -> str:
    """Return the name under which one job at most makes a comparison."""
    return f"compare takes {made.pk}"


@transaction.atomic
def keep_comparison(made: Comparison, found: dict[str, Any] | CombwrightError) -> Comparison:
    """Keep what a comparison found, or why it cannot be made; once, whoever comes again."""
    there = Comparison.objects.select_for_update().get(pk=made.pk)
    if there.found is None and not there.fault:
        if isinstance(found, CombwrightError):
            there.fault = str(found)[:_MOST_LETTERS]
        else:
            there.found = found
        there.save(update_fields=["found", "fault"])
    return there
