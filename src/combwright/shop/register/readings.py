"""Which readings of an instrument count, and the last of them."""

from collections.abc import Mapping, Sequence

from django.db.models import Max, Q

from combwright.shop.register.models import Condition, Fitted, Heard, Instrument


def counted() -> Q:
    """Tell readings that count from those struck out, alone or with their take."""
    return Q(struck_at=None) & (Q(take=None) | Q(take__struck_at=None))


def latest(instrument: Instrument) -> Sequence[Heard]:
    """Return the last reading that counts of each plate that is in its seat now, or of its kit."""
    return _last(instrument, "place", "taken")


def certified(instrument: Instrument) -> Mapping[tuple[str, int], Heard]:
    """Return the reading to vouch for of each plate in its seat, by place and taken plate.

    It is the last one with the covers on, and where there is none the last with them off; readings
    on a jig say little of an instrument.
    """
    found: dict[tuple[str, int], Heard] = {}
    for each in _last(instrument, "place", "taken", "condition"):
        key = (each.place, each.taken_id or 0)
        known = found.get(key)
        if each.condition == Condition.COVERED or (
            each.condition == Condition.OPEN
            and (known is None or known.condition != Condition.COVERED)
        ):
            found[key] = each
    return found


def _last(instrument: Instrument, *by: str) -> list[Heard]:
    rows = Heard.objects.filter(counted(), instrument=instrument)
    newest = rows.order_by().values(*by).annotate(last=Max("pk")).values("last")
    found = Heard.objects.filter(pk__in=newest).select_related("by", "microphone")
    here = _here(instrument)
    return [
        each for each in found.order_by("pk")
        if each.place.startswith("kit") or (each.place, each.taken_id) in here
    ]  # fmt: skip


def _here(instrument: Instrument) -> set[tuple[str, int]]:
    """Return which plate is in which seat; of an instrument taken apart, which were at the end."""
    now = Q(taken_out_at=None)
    if instrument.taken_apart_at is not None:
        now |= Q(taken_out_at__gte=instrument.taken_apart_at)
    rows = Fitted.objects.filter(now, instrument=instrument).order_by()
    return {
        (f"{hole} {deck} {breath}", taken)
        for hole, deck, breath, taken in rows.values_list("hole", "deck", "breath", "taken")
    }
