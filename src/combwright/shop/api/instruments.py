"""Finished instruments for programs."""

from django.db.models import QuerySet
from django.utils.translation import gettext as _
from ninja import Path, Query, Router

from combwright.shop.api import problems
from combwright.shop.api.operations import reads
from combwright.shop.api.order_given import InstrumentsAsked
from combwright.shop.api.order_told import Instruments, InstrumentTold, InstrumentWhole
from combwright.shop.api.problems import Problem
from combwright.shop.api.words import AskedCode
from combwright.shop.people.roles import May
from combwright.shop.register.models import Fitted, Instrument

router = Router(tags=["Instruments"])


def _instruments() -> QuerySet[Instrument]:
    return Instrument.objects.select_related("order", "wish")


@reads(router, "/instruments", May.LOOK, Instruments)
def list_instruments(asked: Query[InstrumentsAsked]) -> Instruments:
    """List the instruments in the order of their making."""
    part = list(_instruments().filter(pk__gt=asked.after).order_by("pk")[: asked.limit + 1])
    last = part[asked.limit - 1].pk if len(part) > asked.limit else None
    told = [InstrumentTold.of(each) for each in part[: asked.limit]]
    return Instruments(instruments=told, next=last)


@reads(router, "/instruments/{path:serial}", May.LOOK, InstrumentWhole)
def show_instrument(serial: Path[AskedCode]) -> InstrumentWhole:
    """Show an instrument with every plate that it holds or held."""
    made = _instruments().filter(serial=serial).first()
    if made is None:
        text = _("There is no instrument %(serial)r.")
        raise Problem(problems.NOT_THERE, text % {"serial": serial})
    fitted = Fitted.objects.filter(instrument=made).select_related("batch", "taken__bin")
    return InstrumentWhole.whole(made, list(fitted.order_by("hole", "deck", "pk")))
