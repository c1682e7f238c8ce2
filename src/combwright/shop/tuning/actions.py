"""Everything that writes single readings and microphones; takes are written by `take_actions`."""

import math
from dataclasses import dataclass
from decimal import Decimal
from typing import Final
from uuid import UUID

from django.db import IntegrityError, transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from combwright.shop.people.models import Person
from combwright.shop.rack.actions import NotSo
from combwright.shop.register.models import Heard, Instrument
from combwright.shop.tuning.aims import aims
from combwright.shop.tuning.clocks import clock_from
from combwright.shop.tuning.models import Microphone

#: A reed further off than this is another note.
FARTHEST_CENTS: Final = 600.0
#: A clock further off is no clock: another tone was heard.
MOST_PPM: Final = 1000.0
_MC: Final = 1000


@dataclass(frozen=True, slots=True)
class Read:
    """A single reading, as a live page hands it in.

    Parameters
    ----------
    place : str
        `3 upper blow`, or `kit 1`.
    cents, sd_cents, spread_cents : float
        How far above its aim, the standard error, and how far single moments strayed.
    level_db : float
        Of the breath.
    """

    key: UUID
    place: str
    cents: float
    sd_cents: float
    spread_cents: float
    level_db: float
    unsure: bool
    condition: str
    temperature: Decimal | None
    microphone: Microphone | None


@transaction.atomic
def keep(person: Person, instrument: Instrument, read: Read) -> Heard:
    """Keep a single reading; one that is handed in twice is kept once.

    Raises
    ------
    NotSo
        If the instrument has no such reed, or the reading cannot be one of it.
    """
    known = Heard.objects.filter(key=read.key).first()
    if known is not None:
        return known
    aim = next((each for each in aims(instrument) if each.place == read.place), None)
    if aim is None:
        facts = {"serial": instrument.serial, "place": read.place}
        raise NotSo(_("Instrument %(serial)s has no reed in %(place)s now.") % facts)
    if abs(read.cents) > FARTHEST_CENTS:
        facts = {"cents": f"{read.cents:.0f}", "place": aim.label}
        raise NotSo(_("%(cents)s cents off is another note than that of %(place)s.") % facts)
    try:
        with transaction.atomic():
            return Heard.objects.create(
                key=read.key, instrument=instrument, taken_id=aim.taken, place=aim.place,
                midi=aim.midi, wanted_mc=aim.wanted_mc, off_mc=round(read.cents * _MC),
                sd_mc=math.ceil(read.sd_cents * _MC), spread_mc=round(read.spread_cents * _MC),
                level_db=read.level_db, unsure=read.unsure, condition=read.condition,
                temperature=read.temperature, microphone=read.microphone, by=person,
            )  # fmt: skip
    except IntegrityError:  # the same one came by two ways at once
        return Heard.objects.get(key=read.key)


@transaction.atomic
def strike(person: Person, heard: Heard, *, out: bool) -> Heard:
    """Strike a reading out, or let it count again."""
    there = Heard.objects.select_for_update().get(pk=heard.pk)
    if (there.struck_at is not None) != out:
        there.struck_at = timezone.now() if out else None
        there.struck_by = person if out else None
        there.save(update_fields=["struck_at", "struck_by"])
    return there


def name_microphone(person: Person, name: str) -> Microphone:
    """Give a microphone a name.

    Raises
    ------
    NotSo
        If another one has it.
    """
    try:
        with transaction.atomic():
            return Microphone.objects.create(name=name, made_by=person)
    except IntegrityError:
        words = _("There is a microphone %r already; give this one a name of its own.")
        raise NotSo(words % name) from None


def set_breath(microphone: Microphone, low_db: float, high_db: float) -> None:
    """Say between which levels a breath at a microphone is an ordinary one, in decibels.

    Raises
    ------
    NotSo
        If the softest is not softer than the strongest.
    """
    if not low_db < high_db:
        facts = {"low": f"{low_db:.0f}", "high": f"{high_db:.0f}"}
        raise NotSo(
            _("The softest breath, %(low)s dB, must be softer than the strongest, %(high)s dB.")
            % facts
        )
    Microphone.objects.filter(pk=microphone.pk).update(low_db=low_db, high_db=high_db)


def calibrate(
    person: Person, microphone: Microphone, *, tone_hz: float, heard_hz: float, sd_cents: float
) -> None:
    """Set a microphone's clock by a known tone.

    Parameters
    ----------
    tone_hz, heard_hz : float
        What the tone is, and what was heard of it without any correction.
    sd_cents : float
        The standard error of what was heard.

    Raises
    ------
    NotSo
        If what was heard is another tone.
    """
    clock = clock_from(tone_hz, heard_hz, sd_cents)
    if abs(clock.ppm) > MOST_PPM:
        facts = {"heard": f"{heard_hz:.3f}", "tone": f"{tone_hz:.3f}", "ppm": f"{clock.ppm:+.0f}"}
        raise NotSo(
            _(
                "%(heard)s Hz was heard where the tone has %(tone)s Hz: a clock is not off by "
                "%(ppm)s millionths. Was it another tone?"
            )
            % facts
        )
    Microphone.objects.filter(pk=microphone.pk).update(
        ppm=clock.ppm, sd_ppm=clock.sd_ppm, tone_hz=tone_hz,
        calibrated_at=timezone.now(), calibrated_by=person,
    )  # fmt: skip


def forget_clock(microphone: Microphone) -> None:
    """Take a microphone's clock for an unknown one again."""
    Microphone.objects.filter(pk=microphone.pk).update(
        ppm=None, sd_ppm=None, tone_hz=None, calibrated_at=None, calibrated_by=None
    )
