"""The certificate of an instrument, from the plates it holds."""

from collections.abc import Sequence
from typing import cast

from django.utils.timezone import localdate

from combwright.comb.combs import Chamber, Comb
from combwright.comb.seats import Deck, Mount
from combwright.errors import CombwrightError
from combwright.sheets.certificates import Certificate, HeldPlate, Vouched, certificate_pdf
from combwright.sheets.plates import DrawnPlate
from combwright.shop.designs import queries as designs
from combwright.shop.register.models import Condition, Fitted, Heard, Instrument
from combwright.shop.register.queries import plates_held
from combwright.shop.register.readings import certified

_SEMITONE_MC, _CENT_MC = 100_000, 1000


def drawn(fitted: Fitted) -> DrawnPlate:
    """Return a plate as drawn; its taken plate and bin must be loaded."""
    return DrawnPlate(
        fitted.hole, cast("Deck", fitted.deck), "in" if fitted.breath == "blow" else "out",
        fitted.midi, (fitted.wanted_mc - fitted.midi * _SEMITONE_MC) / _CENT_MC,
        cast("Mount", fitted.taken.bin.mount), fitted.taken.bin.slot_mm,
    )  # fmt: skip


def comb_of(instrument: Instrument, held: Sequence[Fitted]) -> Comb:
    """Return the comb of an instrument; one drawn up from its plates where that is gone."""
    code = instrument.wish.comb
    try:
        comb = designs.comb(code) if code else designs.usual_comb()
    except CombwrightError:
        comb = None
    holes = max((each.hole for each in held), default=1)
    if comb is not None and holes <= comb.holes:
        return comb
    longest = max((each.taken.bin.slot_mm for each in held), default=10.0)
    return Comb(code or instrument.serial, (Chamber(longest, 0.0, 0.0),) * holes)


def place_of(fitted: Fitted) -> str:
    """Return a plate's place as readings name it: `3 upper blow`."""
    return f"{fitted.hole} {fitted.deck} {fitted.breath}"


def _vouched(heard: Heard | None) -> Vouched | None:
    if heard is None:
        return None
    return Vouched(
        heard.cents, heard.wide, heard.condition == Condition.COVERED, str(heard.by),
        localdate(heard.at), heard.temperature, heard.unsure,
    )  # fmt: skip


def certificate_of(instrument: Instrument) -> bytes:
    """Set the certificate of an instrument.

    Raises
    ------
    BadSheet
        If it holds no plate yet.
    """
    held = plates_held(instrument)
    heard = certified(instrument)
    said = Certificate(
        serial=instrument.serial,
        title=instrument.title,
        comb=comb_of(instrument, held),
        plates=[
            HeldPlate(
                drawn(each), each.batch.code, each.taken.bin.code,
                each.taken.plate.code if each.taken.plate else "",
                _vouched(heard.get((place_of(each), each.taken_id))),
            )
            for each in held
        ],
        finished=instrument.finished_at.date() if instrument.finished_at else None,
    )  # fmt: skip
    return certificate_pdf(said, workshop=designs.workshop())
