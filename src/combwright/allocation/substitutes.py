"""Which plates may take the place of one that is not there: the cheapest first."""

from collections.abc import Iterable
from decimal import Decimal

from combwright.allocation.answer import Placed
from combwright.allocation.eligible import reach
from combwright.allocation.labour import labour_of
from combwright.allocation.orders import Want
from combwright.allocation.problem import NANOMETRES, money
from combwright.allocation.stock import Bin
from combwright.allocation.walking import natural_key
from combwright.allocation.workshop import Workshop

_MILLICENTS_PER_CENT = 1000


def substitutes(
    want: Want,
    bins: Iterable[Bin],
    workshop: Workshop = Workshop(),  # noqa: B008 (frozen)
    *,
    most: int = 5,
) -> tuple[Placed, ...]:
    """Return the plates that may go into a seat, by cost, then retune, then the walk.

    Parameters
    ----------
    want : Want
        The seat.
    bins : iterable of Bin
        What there is; empty, held and expected ones are left out.
    workshop : Workshop
        Retune limits and what labour costs.
    most : int
        How many at the most.
    """
    up, down = reach(workshop)
    takes = round(want.takes_mm * NANOMETRES)
    fitting = (
        each
        for each in bins
        if each.count > 0
        and not each.held
        and each.arrives is None
        and -down <= want.pitch_mc - each.pitch_mc <= up
        and round(each.slot_mm * NANOMETRES) <= takes
        and want.mount in ("any", each.mount)
    )
    ranked = sorted(
        ((_placed(want, each, workshop), each) for each in fitting),
        key=lambda pair: (pair[0].cost, abs(pair[0].retune_cents), natural_key(pair[1].walk)),
    )
    return tuple(placed for placed, _bin in ranked[:most])


def _placed(want: Want, plate: Bin, workshop: Workshop) -> Placed:
    retune = want.pitch_mc - plate.pitch_mc
    way, units = labour_of(workshop).of(retune)
    cents = retune / _MILLICENTS_PER_CENT
    cost = Decimal(plate.cost) + money(units)
    return Placed(want, plate.code, plate.batch, cents, way, cost)
