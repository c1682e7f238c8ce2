"""Opening a set or a donor: first the drawer, then a page with a row for each of its plates."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _

from combwright.shop.designs.queries import NoSuchDesign
from combwright.shop.people.door import ShopRequest, needs
from combwright.shop.people.roles import May
from combwright.shop.rack import opening
from combwright.shop.rack.actions import NotSo
from combwright.shop.rack.item_queries import last_line
from combwright.shop.rack.item_views import form_page, item_called, posted, status_of
from combwright.shop.rack.models import Entry, Item
from combwright.shop.rack.opening_actions import Meanwhile, open_item
from combwright.shop.rack.opening_forms import (
    OpeningForm,
    OtherPartsForm,
    PlaceForm,
    PlateFormSet,
    check_new_bins,
)


@dataclass(slots=True)
class Sheet:
    """What one sees and fills in when an item is opened."""

    item: Item
    place: PlaceForm
    proposed: Sequence[Mapping[str, Any]]
    about: OpeningForm
    plates: Any
    parts: OtherPartsForm

    def is_valid(self) -> bool:
        """Check everything, so that all that is to be mended is said at once."""
        filled = [each.is_valid() for each in (self.about, self.parts, self.plates)]
        return all(filled) and check_new_bins(
            self.plates.forms, self.proposed, agreed=self.about.cleaned_data["agreed"]
        )

    def open(self, request: ShopRequest) -> Entry:
        """Open the item as it was filled in."""
        said = self.about.cleaned_data
        rows = list(zip(self.plates, self.proposed, strict=True))
        lost = [str(plate["cut"]) for form, plate in rows if form.cleaned_data["lost"]]
        return open_item(
            request.user,
            self.item,
            [form.slice(plate) for form, plate in rows],
            self.parts.parts(),
            note=opening.note_of(self.item, lost, said["note"]),
            seen=said["seen"],
        )


@form_page
@needs(May.TAKE)
def open_one(request: ShopRequest, code: str) -> HttpResponse:
    """Open a set or a donor; a POST puts its plates into their bins."""
    item = item_called(code)
    context: dict[str, Any] = {"item": item}
    if (refusal := _refusal(item)) and request.method != "POST":
        return render(request, "rack/item_open.html", {**context, "refusal": refusal})
    place = PlaceForm(_place_said(request) or None, initial=_place_proposed(item))
    if not place.is_valid():
        context["form"] = place
        return render(request, "rack/item_open.html", context, status=status_of(request))
    sheet = _sheet(request, item, place)
    if request.method == "POST" and sheet.is_valid():
        try:
            entry = sheet.open(request)
        except NotSo as error:
            sheet.about.add_error(None, str(error))
            if isinstance(error, Meanwhile):
                # Whoever reads what happened and sends the page again means it.
                sheet.about.data = {**request.POST.dict(), "seen": error.line.pk}
        else:
            messages.success(request, _("It is opened, and its plates are in their bins."))
            return redirect("rack:entry", entry.pk)
    context |= {
        "sheet": sheet,
        "form": sheet.about,
        "rows": list(zip(sheet.plates, sheet.proposed, strict=True)),
        "to_mend": sum(bool(each.errors) for each in sheet.plates),
    }
    return render(request, "rack/item_open.html", context, status=status_of(request))


def _refusal(item: Item) -> str:
    """Say why an item cannot be opened just now, or nothing."""
    if item.kind == Item.PART:
        return _("%(name)s is a part; there are no plates in it.") % {"name": item.code}
    if item.held:
        return _("%(name)s is held; release it before it is opened.") % {"name": item.code}
    if not item.count:
        return _("There is no %(name)s to open. Receive one first.") % {"name": item.code}
    try:
        opening.seats_of(item)
    except NoSuchDesign as error:
        return str(error)
    return ""


def _place_said(request: ShopRequest) -> Mapping[str, Any]:
    return request.POST if request.method == "POST" else request.GET


def _place_proposed(item: Item) -> dict[str, Any]:
    if item.kind == Item.PART:
        return {}
    return {"place": (item.walk or item.code)[:30], "cost": opening.cost_of_a_plate(item)}


def _sheet(request: ShopRequest, item: Item, place: PlaceForm) -> Sheet:
    said = place.cleaned_data
    proposed = opening.proposal(item, said["place"], said["cost"])
    newest = last_line(item)
    return Sheet(
        item,
        place,
        proposed,
        OpeningForm(posted(request), initial={"seen": newest.pk if newest else 0}),
        PlateFormSet(posted(request), initial=proposed, prefix="plate"),
        OtherPartsForm(posted(request), item=item),
    )
