"""A take as its page shows it: each seat's reading, what to do about it, and what has changed."""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final, cast

from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from combwright.comb.seats import Breath
from combwright.sheets.bars import Bar, bars_svg
from combwright.sheets.figures import signed
from combwright.shop.designs.queries import workshop
from combwright.shop.register.models import Heard, Take

#: Of a normal distribution 95 % lies within so many standard deviations.
_WIDE: Final = 1.96


@dataclass(frozen=True, slots=True)
class Row:
    """A seat of a take.

    Parameters
    ----------
    place, label : str
        `3 upper blow`, and as people say it.
    tolerance : float
        How far off it may stay, in cents.
    heard, before : Heard or None
        Its reading in this take, and in the one before where the same plate sat there.
    swapped : bool
        Whether its plate and another seat's seem interchanged: then it is not to be filed.
    """

    place: str
    label: str
    tolerance: float
    heard: Heard | None = None
    before: Heard | None = None
    swapped: bool = False

    @property
    def out(self) -> bool:
        """Whether it is out of tolerance, and there to be filed."""
        return (
            self.heard is not None and not self.swapped and abs(self.heard.cents) > self.tolerance
        )

    @property
    def doubtful(self) -> bool:
        """Whether the tolerance's edge lies within what is not sure."""
        if self.heard is None:
            return False
        return abs(abs(self.heard.cents) - self.tolerance) <= _WIDE * self.heard.sd_cents

    @property
    def cents(self) -> str:
        """How far off it is, with its sign."""
        return "" if self.heard is None else signed(self.heard.cents)

    @property
    def half(self) -> float:
        """Half of the width in which it lies with 95 % certainty, in cents."""
        return 0.0 if self.heard is None else _WIDE * self.heard.sd_cents

    @property
    def change(self) -> float | None:
        """By how many cents it is higher than before."""
        if self.heard is None or self.before is None:
            return None
        return self.heard.cents - self.before.cents

    @property
    def change_half(self) -> float:
        """Half of the width in which the change lies with 95 % certainty, in cents."""
        if self.heard is None or self.before is None:
            return 0.0
        return _WIDE * math.hypot(self.heard.sd_cents, self.before.sd_cents)

    @property
    def changed(self) -> bool:
        """Whether it has changed by more than is unsure."""
        return self.change is not None and not self.swapped and abs(self.change) > self.change_half

    @property
    def change_words(self) -> str:
        """The change with its sign, nothing where there is none to tell."""
        return "" if self.change is None else signed(self.change)

    @property
    def advice(self) -> str:
        """What is to be done about it, in the words of the bench."""
        if self.heard is None:
            return ""
        said = {"seat": self.label, "cents": f"{abs(self.heard.cents):.1f}"}
        if self.heard.cents > 0:
            return _("%(seat)s: %(cents)s cents high; lower it: file the root") % said
        return _("%(seat)s: %(cents)s cents low; raise it: file the tip") % said


def tolerance_cents() -> float:
    """Return how far off a reed may stay: what the workshop touches up in the course of work."""
    return workshop().retune.free_cents


def rows_of(take: Take, readings: Sequence[Heard], before: Sequence[Heard]) -> list[Row]:
    """Return the seats of a take in the order of the comb, those not heard among them."""
    tolerance = tolerance_cents()
    earlier = {(each.place, each.taken_id): each for each in before}
    places = [each.place for each in readings] + [each["place"] for each in take.missing]
    labels = labels_of(places)
    swapped = {label for each in _odd(take, "interchanged") for label in each["seats"]}
    rows = [
        Row(each.place, labels[each.place], tolerance, each,
            earlier.get((each.place, each.taken_id)), labels[each.place] in swapped)
        for each in readings
    ]  # fmt: skip
    rows += [Row(each["place"], labels[each["place"]], tolerance) for each in take.missing]
    return sorted(rows, key=lambda row: in_order(row.place))


def labels_of(places: Sequence[str]) -> Mapping[str, str]:
    """Return what people call seats: by hole and breath, with the deck only where it is needed."""
    brief = {place: f"{place.split()[0]} {place.split()[-1]}" for place in places}
    many = list(brief.values())
    return {place: name if many.count(name) == 1 else place for place, name in brief.items()}


def in_order(place: str) -> tuple[int, bool, bool]:
    """Return what seats are sorted by: hole, blow before draw, upper before lower."""
    hole, deck, breath = place.split()
    return int(hole), breath != "blow", deck != "upper"


def out_first(rows: Sequence[Row]) -> list[Row]:
    """Return what is out of tolerance, the worst first."""
    return sorted((row for row in rows if row.out), key=lambda row: -_off(row))


def changed_first(rows: Sequence[Row]) -> list[Row]:
    """Return what has changed by more than is unsure, the most first."""
    return sorted((row for row in rows if row.changed), key=lambda row: -abs(row.change or 0.0))


def _off(row: Row) -> float:
    return 0.0 if row.heard is None else abs(row.heard.cents)


def _odd(take: Take, what: str) -> Iterator[Mapping[str, Any]]:
    return (each for each in take.remarks if each["what"] == what)


def remarks_of(take: Take) -> Iterator[str]:
    """Say what seems odd, and what was not heard."""
    for each in _odd(take, "interchanged"):
        one, other = each["seats"]
        said = {"one": one, "other": other}
        yield _("%(one)s and %(other)s seem interchanged: look which plate sits where.") % said
    breath = [label for each in _odd(take, "silent") for label in each["seats"]]
    for seat in breath:
        yield _("%(seat)s is silent: breath at its turn, but no note.") % {"seat": seat}
    silent = [each["label"] for each in take.missing if each["label"] not in breath]
    if silent:
        words = ngettext(
            "%(seats)s was not heard: silent, or not played.",
            "%(seats)s were not heard: silent, or not played.",
            len(silent),
        )
        yield words % {"seats": ", ".join(silent)}


def drawn_bars(rows: Sequence[Row], take: Take) -> SafeString:
    """Draw the seats as bars around zero."""
    bars = [
        Bar(
            int(row.place.split()[0]), cast("Breath", row.place.split()[-1]),
            None if row.heard is None or row.swapped else row.heard.cents, row.half,
            None if row.before is None else row.before.cents, row.out,
            row.heard is not None and row.heard.unsure, "⇄" if row.swapped else "×",
        )
        for row in rows
    ]  # fmt: skip
    svg = bars_svg(
        bars,
        tolerance=rows[0].tolerance if rows else tolerance_cents(),
        title=_("Take %d: how far each reed is off its target") % take.pk,
        about=_("The same stands in the table below, seat by seat."),
    )
    return mark_safe(svg)  # every value in a drawing is escaped by sheets.svg


def shown(take: Take, readings: Sequence[Heard], before: Sequence[Heard]) -> dict[str, Any]:
    """Return what the page of a take that was heard tells."""
    rows = rows_of(take, readings, before)
    return {
        "rows": rows,
        "out": out_first(rows),
        "changed": changed_first(rows),
        "remarks": list(remarks_of(take)),
        "bars": drawn_bars(rows, take),
        "tolerance": tolerance_cents(),
    }
