"""The designer: a wish on the drawn comb, looked at by everybody, changed by those who may.

Every edit is a plain form that is posted here; its answer leads back to the page. With JavaScript
the page's one region is renewed instead, and what has the focus keeps it.
"""

from collections.abc import Callable
from types import MappingProxyType
from typing import Final

from django.contrib import messages
from django.forms import Form
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods

from combwright.comb.seats import MOST_HOLES
from combwright.errors import CombwrightError
from combwright.notes.keys import parse_key
from combwright.sheets.plates import Place
from combwright.shop.designs import queries as designs
from combwright.shop.orders import actions, wish_edits
from combwright.shop.orders.drawn_comb import parse_seat
from combwright.shop.orders.models import Order, Wish
from combwright.shop.orders.wish_changes import from_lines
from combwright.shop.orders.wish_drafts import Draft, Drafts, facts_of
from combwright.shop.orders.wish_edits import SEAT_EDITS, Press
from combwright.shop.orders.wish_forms import FactsForm, NotesForm, ScaleForm, SeatForm, StartForm
from combwright.shop.orders.wish_pages import NOTHING_FAULTY, Desk, Faulty, page
from combwright.shop.people.door import ShopRequest, needs
from combwright.shop.people.roles import May, allowed

_FIRST_SEAT: Final[Place] = (1, "upper")
designer_page = require_http_methods(["GET", "HEAD", "POST"])


class NotAccepted(CombwrightError):
    """Something that was posted and cannot be done; with the form that it was posted in."""

    def __init__(self, fault: str = "", **forms: Form) -> None:
        super().__init__(fault)
        self.faulty = Faulty(forms, fault)


@designer_page
@never_cache
@needs(May.LOOK)
def wish(request: ShopRequest, key: int) -> HttpResponse:
    """Show a wish on the drawn comb; a POST changes the draft of it, or saves it."""
    found = get_object_or_404(Wish.objects.select_related("order"), pk=key)
    return _answer(request, found.order, found)


@designer_page
@never_cache
@needs(May.WISH)
def new(request: ShopRequest, number: str) -> HttpResponse:
    """Design a further wish of an order; it is added when it is saved."""
    return _answer(request, get_object_or_404(Order, number=number), None)


def _answer(request: ShopRequest, order: Order, wish: Wish | None) -> HttpResponse:
    if request.method == "POST":
        return _posted(request, order, wish)
    desk = _desk(request, order, wish)
    shown = _shown(request, desk)
    return _at(shown, desk) if _in_place(request) else shown


@needs(May.WISH)
def _posted(request: ShopRequest, order: Order, wish: Wish | None) -> HttpResponse:
    desk = _desk(request, order, wish)
    what = request.POST.get("do", "")
    try:
        actions.check_changeable(order)
        if what in _LEAVING:
            return _LEAVING[what](request, desk)
        if what in SEAT_EDITS:
            draft = _seat(request, desk)
        elif what in _EDITS:
            draft = _EDITS[what](request, desk)
        else:
            raise Http404
    except NotAccepted as error:
        return _shown(request, desk, error.faulty)
    except CombwrightError as error:
        return _shown(request, desk, Faulty({}, str(error)))
    Drafts(request.session).keep(order, wish, draft)
    return _renewed(request, _with(desk, draft))


def _desk(request: ShopRequest, order: Order, wish: Wish | None) -> Desk:
    given = request.POST if request.method == "POST" else request.GET
    place = parse_seat(given.get("seat", "")) or _FIRST_SEAT
    if not 1 <= place[0] <= MOST_HOLES:
        place = _FIRST_SEAT
    may = allowed(request.user.role, May.WISH) and order.state in actions.CHANGEABLE
    draft = Drafts(request.session).get(order, wish)
    if not may:
        draft = Draft(order.version, draft.states[:1] if wish is None else (facts_of(wish),))
    return Desk(order, wish, draft, place, ScaleForm(request.GET).chosen(), may)


def _with(desk: Desk, draft: Draft) -> Desk:
    return Desk(desk.order, desk.wish, draft, desk.place, desk.scale, desk.may_edit)


def _shown(request: ShopRequest, desk: Desk, faulty: Faulty = NOTHING_FAULTY) -> HttpResponse:
    status = 200 if faulty is NOTHING_FAULTY else 422
    fragment = request.method == "POST" and _in_place(request)
    template = "orders/_designer.html" if fragment else "orders/wish.html"
    return render(request, template, page(desk, faulty), status=status)


def _renewed(request: ShopRequest, desk: Desk) -> HttpResponse:
    if not _in_place(request):
        return redirect(desk.address())
    return _at(_shown(request, desk), desk)


def _in_place(request: ShopRequest) -> bool:
    """Say whether the answer is to be put into the page that is there."""
    return request.headers.get("HX-Request") == "true"


def _at(response: HttpResponse, desk: Desk) -> HttpResponse:
    response["HX-Replace-Url"] = desk.address()
    return response


def _seat(request: ShopRequest, desk: Desk) -> Draft:
    what, note = request.POST["do"], None
    if what == "pitch":
        form = SeatForm(request.POST)
        if not form.is_valid():
            raise NotAccepted(seat=form)
        note = form.cleaned_data["note"]
    press = Press(desk.place, note, parse_seat(request.POST.get("to", "")))
    return wish_edits.seat_edited(desk.draft, desk.read(), what, press)


def _start(request: ShopRequest, desk: Desk) -> Draft:
    form = StartForm(request.POST, auto_id="start-%s")
    if not form.is_valid():
        raise NotAccepted(start=form)
    return wish_edits.started(desk.draft, form.cleaned_data["layout"], form.cleaned_data["key"])


def _notes(request: ShopRequest, desk: Desk) -> Draft:
    form = NotesForm(request.POST, auto_id="notes-%s")
    if not form.is_valid():
        raise NotAccepted(notes=form)
    said = form.cleaned_data
    shift = parse_key(desk.draft.facts.key).shift if said["written"] == "c" else 0
    try:
        wanted = from_lines(said["blow"], said["draw"], semitones=shift)
        return wish_edits.from_notes(desk.draft, wanted, designs.layouts())
    except CombwrightError as error:
        form.add_error(None, str(error))
        raise NotAccepted(notes=form) from error


def _facts(request: ShopRequest, desk: Desk) -> Draft:
    facts = desk.draft.facts
    form = FactsForm(request.POST, combs=designs.combs(), facts=facts, auto_id="facts-%s")
    if not form.is_valid():
        raise NotAccepted(facts=form)
    said = {name: value for name, value in form.cleaned_data.items() if name != "do"}
    moved: dict[str, str] = {}
    try:
        if said["key"] != facts.key:
            moved = wish_edits.in_other_key(desk.draft, desk.read(), said["key"])
    except CombwrightError as error:
        form.add_error("key", str(error))
        raise NotAccepted(facts=form) from error
    if said["kit"] != facts.kit:
        moved.pop("kit", None)  # what was typed is meant as it was typed
    return desk.draft.then(**{**said, **moved})


def _save(request: ShopRequest, desk: Desk) -> HttpResponse:
    drafts, draft = Drafts(request.session), desk.draft
    try:
        saved = actions.save_wish(
            desk.order, request.user, desk.wish, draft.facts.stored(), seen=draft.seen
        )
    except actions.ChangedMeanwhile as error:
        # What was edited stays; saved once more it is meant to replace what is there now.
        now = Draft(desk.order.version, draft.states, draft.at)
        drafts.keep(desk.order, desk.wish, now)
        faulty = Faulty({}, str(error), _stored_words(desk.wish))
        return _shown(request, _with(desk, now), faulty)
    drafts.drop(desk.order, desk.wish)
    messages.success(request, _("Row %d is saved.") % saved.row)
    there = Desk(desk.order, saved, draft, desk.place, desk.scale, desk.may_edit)
    return _gone(request, there.address())


def _discard(request: ShopRequest, desk: Desk) -> HttpResponse:
    Drafts(request.session).drop(desk.order, desk.wish)
    messages.info(request, _("The changes that were not saved are dropped."))
    return _gone(request, desk.address())


def _gone(request: ShopRequest, address: str) -> HttpResponse:
    """Lead to a page that is loaded whole, so that its messages are read out."""
    if _in_place(request):
        return HttpResponse(status=204, headers={"HX-Redirect": address})
    return redirect(address)


def _stored_words(wish: Wish | None) -> str:
    if wish is None:
        return ""
    said = {"key": wish.key, "layout": wish.layout, "changes": wish.changes or _("no changes")}
    return _("Stored is now: %(key)s, %(layout)s, %(changes)s.") % said


Edit = Callable[[ShopRequest, Desk], Draft]
Leave = Callable[[ShopRequest, Desk], HttpResponse]
_EDITS: Final[MappingProxyType[str, Edit]] = MappingProxyType(
    {
        "start": _start,
        "notes": _notes,
        "facts": _facts,
        "undo": lambda _request, desk: desk.draft.undone(),
        "redo": lambda _request, desk: desk.draft.redone(),
    }
)
_LEAVING: Final[MappingProxyType[str, Leave]] = MappingProxyType(
    {"save": _save, "discard": _discard}
)
