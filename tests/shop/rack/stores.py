"""What the store's tests begin with: a set, a donor, a part; and an opening filled in."""

from decimal import Decimal

from django.urls import reverse

from combwright.shop.rack.item_actions import NewItem, make_item
from combwright.shop.rack.models import Item
from shop.rack.shelves import somebody


def a_set(code="Set G", came=1, *, key="G", batch="b1", **more):
    new = NewItem(
        code, Item.SET, key=key, layout="standard", batch=batch, cost=Decimal("40.00"), **more
    )
    return make_item(somebody(), new, came=came)


def a_donor(code="Old D", came=1, *, key="D", layout="natural-minor", batch="d1"):
    new = NewItem(code, Item.DONOR, key=key, layout=layout, batch=batch, walk="S-9")
    return make_item(somebody(), new, came=came)


def a_part(code="Covers", came=0, *, part="cover", cost="3.00", **more):
    new = NewItem(code, Item.PART, part=part, cost=Decimal(cost), **more)
    return make_item(somebody(), new, came=came)


def opening_page(client, item, **place):
    """Return the page with a row for each plate."""
    said = {"place": "G-1", "cost": "2.00", **place}
    return client.get(reverse("rack:item-open", args=[item.code]), said)


def filled_in(page, **more):
    """Return what a browser would send from that page when nothing is changed on it."""
    sheet = page.context["sheet"]
    sent = {"place": sheet.place.data["place"], "cost": sheet.place.data["cost"]}
    forms = [sheet.about, sheet.parts, *sheet.plates.forms, sheet.plates.management_form]
    for form in forms:
        for field in form:
            value = field.value()
            if value not in (None, False, ""):
                sent[field.html_name] = str(value)
    return {**sent, **more}


def send(client, item, sent):
    return client.post(reverse("rack:item-open", args=[item.code]), sent)
