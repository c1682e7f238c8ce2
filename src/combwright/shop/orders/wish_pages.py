"""The designer's page: everything that stands on it, for a draft and a chosen seat."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any
from urllib.parse import urlencode

from django.urls import reverse
from django.utils.translation import gettext as _

from combwright.comb.combs import Comb
from combwright.comb.layouts import Layout
from combwright.errors import CombwrightError
from combwright.files.wishes import Wish as ReadWish
from combwright.files.wishes import sounding, title_of
from combwright.notes.keys import ORDINARY_KEYS
from combwright.notes.names import note_text
from combwright.sheets.plates import Place
from combwright.shop.designs import queries as designs
from combwright.shop.orders import wish_live
from combwright.shop.orders.actions import CHANGEABLE
from combwright.shop.orders.drawn_comb import (
    Framed,
    all_seats,
    designed_plates,
    drawn_comb,
    seat_code,
    seat_name,
    seat_words,
)
from combwright.shop.orders.models import Nickname, Order, Wish
from combwright.shop.orders.reading import Reader
from combwright.shop.orders.wish_drafts import Draft
from combwright.shop.orders.wish_forms import FactsForm, NotesForm, ScaleForm, SeatForm, StartForm


@dataclass(frozen=True, slots=True)
class Desk:
    """A wish on the drawing desk.

    Parameters
    ----------
    order, wish
        The order, and its wish; None for a new one.
    draft : Draft
        Its states.
    place : (hole, deck)
        The chosen seat.
    scale : (int, str)
        The position and the scale that are looked at.
    may_edit : bool
        Whether this person may change it, and the order is not too far on.
    """

    order: Order
    wish: Wish | None
    draft: Draft
    place: Place
    scale: tuple[int, str] = (1, "major")
    may_edit: bool = False

    @property
    def row(self) -> int:
        """The row of the order, 0 for a new one."""
        return self.wish.row if self.wish else 0

    def read(self) -> ReadWish:
        """Return the draft with its parts read.

        Raises
        ------
        CombwrightError
            If one of them cannot be.
        """
        return Reader().wish(self.draft.facts.as_wish(self.order, self.row))

    def address(self, place: Place | None = None) -> str:
        """Return where this page is, with a seat chosen."""
        return f"{self.plain_address}?{urlencode(self._asked(place or self.place))}"

    @property
    def plain_address(self) -> str:
        """Where this page is."""
        if self.wish is None:
            return reverse("orders:wish-new", args=[self.order.number])
        return reverse("orders:wish", args=[self.wish.pk])

    def _asked(self, place: Place) -> dict[str, str | int]:
        position, scale = self.scale
        asked: dict[str, str | int] = {"seat": seat_code(place)}
        if self.scale != (1, "major"):
            asked |= {"position": position, "scale": scale}
        return asked


@dataclass(frozen=True, slots=True)
class Faulty:
    """Forms that were sent and not accepted, by name, and what stands above all of them."""

    forms: Mapping[str, Any]
    fault: str = ""
    meanwhile: str = ""


NOTHING_FAULTY = Faulty({})


def page(desk: Desk, faulty: Faulty = NOTHING_FAULTY) -> dict[str, Any]:
    """Return what the designer's templates show."""
    context: dict[str, Any] = {
        "desk": desk, "order": desk.order, "draft": desk.draft, "facts": desk.draft.facts,
        "faulty": faulty, "seat": seat_code(desk.place), "seat_name": seat_name(desk.place),
        "title": "", "reading_fault": "", "frozen": desk.order.state not in CHANGEABLE,
    }  # fmt: skip
    if desk.may_edit:
        context |= _forms(desk, faulty)
    try:
        wish = desk.read()
        layout = sounding(wish)
    except CombwrightError as error:
        return {**context, "reading_fault": str(error)}
    return {**context, "title": title_of(wish), **_drawn(desk, wish, layout, faulty)}


def _drawn(desk: Desk, wish: ReadWish, layout: Layout, faulty: Faulty) -> dict[str, Any]:
    position, scale = desk.scale
    plays = wish_live.plays(wish, position=position, scale=scale)
    answer, workshop = None, designs.workshop()
    if desk.order.state in CHANGEABLE:
        answer = wish_live.answered(wish, workshop)
    words = dict(wish_live.words_by_seat(answer)) if answer else {}
    missing, retunes = wish_live.seat_marks(answer) if answer else (frozenset(), {})
    comb = wish_live.comb_to_draw(wish)
    plates = designed_plates(layout, missing)
    there = {(plate.hole, plate.deck): plate for plate in plates}
    chosen = there.get(desk.place)
    return {
        "comb": drawn_comb(
            comb, plates, title=title_of(wish), framed=_framed(desk, comb),
            retunes=retunes, address=desk.address, words=words,
        ),
        "plays": plays,
        "answer": answer,
        "currency": workshop.currency,
        "supply": [(seat_code(place), seat_words(place, there.get(place), words.get(place, "")))
                   for place in there],
        "kit": [(label, wish_live.supply_words(each)) for label, each in answer.kit]
        if answer else [],
        "chosen": chosen,
        "chosen_words": seat_words(desk.place, chosen, words.get(desk.place, "")),
        "chosen_heard": plays.seats.get(desk.place),
        "seat_form": faulty.forms.get("seat") or SeatForm(
            initial={"note": note_text(chosen.midi, chosen.cents) if chosen else ""}
        ),
        "seats": [(seat_code(place), seat_name(place)) for place in all_seats(comb)
                  if place != desk.place and place[0] <= layout.holes],
        "scale_form": ScaleForm(
            {"seat": seat_code(desk.place), "position": str(position), "scale": scale}
        ),
        "layout_code": desk.draft.facts.layout,
    }  # fmt: skip


def _framed(desk: Desk, comb: Comb) -> Framed | None:
    return Framed(desk.place, _("chosen")) if desk.place[0] <= comb.holes else None


def _forms(desk: Desk, faulty: Faulty) -> dict[str, Any]:
    facts, known = desk.draft.facts, designs.layouts()
    start = {"do": "start", "layout": facts.layout, "key": facts.key}
    return {
        "start_form": faulty.forms.get("start") or StartForm(initial=start, auto_id="start-%s"),
        "notes_form": faulty.forms.get("notes")
        or NotesForm(initial={"do": "notes"}, auto_id="notes-%s"),
        "facts_form": faulty.forms.get("facts")
        or FactsForm(combs=designs.combs(), facts=facts, auto_id="facts-%s"),
        "layouts": [(each.code, each.layout.title) for each in known],
        "nicknames": Nickname.objects.order_by("word").values_list("word", flat=True).distinct(),
        "keys": ORDINARY_KEYS,
    }
