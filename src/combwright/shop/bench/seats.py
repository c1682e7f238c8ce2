"""One instrument on the bench: its seats in the order of work, drawn and in words."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from django.utils.safestring import SafeString
from django.utils.translation import gettext as _

from combwright.comb.combs import Comb
from combwright.comb.seats import side_of_reed
from combwright.sheets.figures import hertz_text, how, signed
from combwright.sheets.from_plan import comb_of
from combwright.sheets.plates import DrawnPlate
from combwright.sheets.plates import Place as DrawnPlace
from combwright.shop.bench.trays import Place
from combwright.shop.designs.queries import usual_comb
from combwright.shop.orders.drawn_comb import Framed, drawn_comb, seat_code
from combwright.shop.plans.models import Taken


@dataclass(frozen=True, slots=True)
class Told:
    """What the bench needs to know of a seat, in words and numbers."""

    place: Place
    side: str
    facing: str
    hertz: str
    cents: str
    retune: str
    how: str

    @property
    def work(self) -> bool:
        """Whether its plate has to be retuned."""
        return self.place.taken is not None and self.place.taken.way != "none"


def told(place: Place) -> Told:
    """Say a seat in words and numbers."""
    want, placed = place.want, place.placed
    return Told(
        place=place,
        side=_side(place),
        facing=_facing(place),
        hertz=hertz_text(want),
        cents=signed(want.cents),
        retune=signed(placed.retune_cents) if placed else "",
        how=how(placed) if placed else "",
    )


def _side(place: Place) -> str:
    if side_of_reed(place.want.deck, place.want.facing) == "underside":
        return _("reed side down")
    return _("reed side up")


def _facing(place: Place) -> str:
    if place.want.facing == "in":
        return _("facing in, into the chamber: it speaks on blow")
    return _("facing out, away from the chamber: it speaks on draw")


def of_copy(places: Iterable[Place], row: int, copy: int) -> list[Place]:
    """Return the seats of one copy, hole by hole, the upper deck first."""
    seats = [p for p in places if p.wish.row == row and p.copy == copy and not p.in_kit]
    return sorted(seats, key=lambda p: (p.want.hole, p.want.deck == "lower"))


def next_of(seats: Sequence[Place], asked: str = "") -> Place | None:
    """Return the seat that is asked for, else the first that is not done, else None."""
    wanted = next((each for each in seats if each.key == asked), None)
    return wanted or next((each for each in seats if not each.done), None)


def drawing(seats: Sequence[Place], comb: Comb | None, here: Place | None, to: str) -> SafeString:
    """Draw the comb as it stands on the bench: seated plates, the next one framed, what lacks.

    Parameters
    ----------
    seats : sequence of Place
        Of one copy.
    comb : Comb or None
        What it is built on; None for the usual one.
    here : Place or None
        The seat to frame.
    to : str
        The page's address, to which `?seat=` is added for each seat.
    """
    wants = [each.want for each in seats]
    shown = [each for each in seats if each.state != Taken.ASIDE or each is here]
    plates = [_drawn(each) for each in shown if each.done or each.lacking or each is here]
    retunes = {
        (p.want.hole, p.want.deck): p.taken.retune_mc / 1000
        for p in shown
        if p is here and p.taken is not None and p.taken.way != "none" and not p.lacking
    }
    framed = Framed((here.want.hole, here.want.deck), _("next")) if here else None
    return drawn_comb(
        comb_of(wants, comb or usual_comb()), plates, title=seats[0].tray, framed=framed,
        retunes=retunes, address=lambda place: f"{to}?seat={seat_code(place)}#seat",
        words=_words(seats),
    )  # fmt: skip


def _words(seats: Sequence[Place]) -> dict[DrawnPlace, str]:
    return {(p.want.hole, p.want.deck): state_words(p) for p in seats}


def state_words(place: Place) -> str:
    """Say how far a seat is."""
    return {
        Taken.ASIDE: _("to be picked"),
        Taken.PICKED: _("in the tray"),
        Taken.FITTED: _("seated"),
        Taken.GONE: _("wants another plate"),
    }[place.state]


def _drawn(place: Place) -> DrawnPlate:
    want, taken = place.want, place.taken
    if taken is None or place.lacking:
        return DrawnPlate(want.hole, want.deck, want.facing, want.midi, want.cents, state="missing")
    mount = "front" if taken.bin.mount == "front" else "rear"
    return DrawnPlate(
        want.hole, want.deck, want.facing, want.midi, want.cents,
        "front" if mount == "front" else "rear", taken.bin.slot_mm,
    )  # fmt: skip
