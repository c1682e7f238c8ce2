"""The store's pages: found, filled in, refused; and who may do what."""

import pytest
from django.urls import reverse

from combwright.shop.people.roles import Role
from combwright.shop.rack.models import Entry, Item
from shop.rack.shelves import somebody
from shop.rack.stores import a_donor, a_part, a_set, filled_in, opening_page, send

pytestmark = pytest.mark.django_db


@pytest.fixture
def owner(client):
    client.force_login(somebody("owner"))
    return client


def text(response):
    return " ".join(response.content.decode().split())


EVERYONE = {"owner", "office", "maker", "packer"}
WHO_MAY = {
    "item": EVERYONE,
    "item-receive": EVERYONE,
    "item-count": EVERYONE,
    "item-scrap": {"owner", "maker", "packer"},
    "item-open": {"owner", "maker", "packer"},
    "item-change": {"owner", "office", "packer"},
    "item-hold": {"owner", "maker"},
}


@pytest.mark.parametrize("role", list(Role))
@pytest.mark.parametrize("page", list(WHO_MAY))
def test_who_may_do_what_with_an_item(client, role, page):
    client.force_login(somebody(role))
    item = a_set()
    answer = client.get(reverse(f"rack:{page}", args=[item.code]))
    assert answer.status_code == (200 if role in WHO_MAY[page] else 403)
    if page != "item":
        sent = {"many": 1, "found": 1, "note": "x", "because": "x"}
        answer = client.post(reverse(f"rack:{page}", args=[item.code]), sent)
        assert (answer.status_code != 403) == (role in WHO_MAY[page])


@pytest.mark.parametrize("role", list(Role))
def test_who_may_put_something_new_into_the_store(client, role):
    client.force_login(somebody(role))
    assert client.get(reverse("rack:items")).status_code == 200
    sent = {"code": "Combs", "part": "comb", "came": "2"}
    answer = client.post(reverse("rack:item-new") + "?kind=part", sent)
    may = role in {"owner", "office", "packer"}
    assert answer.status_code == (302 if may else 403)
    assert Item.objects.filter(code="Combs").exists() == may


@pytest.mark.parametrize("page", ["item", *WHO_MAY])
def test_nobody_gets_in_without_logging_in(client, page):
    item = a_set()
    answer = client.get(reverse(f"rack:{page}", args=[item.code]))
    assert (answer.status_code, answer["Location"].split("?")[0]) == (302, "/people/login/")


def test_three_sets_are_put_on_the_shelf_and_one_is_opened_later(owner):
    sent = {"code": "G/b7", "key": "g", "batch": "b7", "walk": "S-1", "cost": "40", "came": "3"}
    made = owner.post(reverse("rack:item-new") + "?kind=set", sent, follow=True)
    assert "G/b7 is in the store." in text(made)
    item = Item.objects.get()
    assert (item.key, item.layout, item.count) == ("G", "standard", 3)
    assert send(owner, item, filled_in(opening_page(owner, item))).status_code == 302
    ledger = text(owner.get(reverse("rack:ledger")))
    assert "-1 G/b7" in ledger
    assert "+3 G/b7" in ledger
    entry = Entry.objects.get(why=Entry.OPENED)
    page = text(owner.get(reverse("rack:entry", args=[entry.pk])))
    assert "From and to the store" in page
    assert "opened" in text(owner.get(reverse("rack:item", args=[item.code])))


def test_a_donor_is_made_in_any_layout_of_the_shop(owner):
    page = owner.get(reverse("rack:item-new") + "?kind=donor")
    offered = dict(page.context["form"].fields["layout"].choices)
    assert {"standard", "natural-minor"} <= set(offered)
    sent = {"code": "Old", "key": "low F", "layout": "natural-minor", "batch": "d1", "came": "1"}
    owner.post(reverse("rack:item-new") + "?kind=donor", sent)
    item = Item.objects.get()
    assert (item.kind, item.key, item.layout) == ("donor", "low F", "natural-minor")


@pytest.mark.parametrize(
    ("kind", "sent", "said"),
    [
        ("set", {"code": "G", "key": "H", "batch": "b"}, "&#x27;H&#x27; is no key"),
        ("set", {"code": "G", "key": "G"}, "Batch: This field is required."),
        ("donor", {"code": "G", "key": "G", "batch": "b"}, "Layout: This field is required."),
        ("part", {"code": "G"}, "Part: This field is required."),
        ("part", {"code": "a/open", "part": "comb"}, "cannot be a name here"),
        ("part", {"code": "G", "part": "comb", "cost": "much"}, "Cost of one: Enter a number."),
        ("part", {"code": "G", "part": "comb", "came": "-1"}, "greater than or equal to 0"),
    ],
)
def test_what_is_wrong_is_said_and_what_was_typed_is_kept(owner, kind, sent, said):
    answer = owner.post(reverse("rack:item-new") + f"?kind={kind}", sent)
    assert answer.status_code == 422
    assert said in text(answer)
    assert f'value="{sent["code"]}"' in text(answer)
    assert not Item.objects.exists()


def test_a_name_twice_is_refused_in_words(owner):
    a_part("Covers")
    answer = owner.post(reverse("rack:item-new") + "?kind=part", {"code": "Covers", "part": "x"})
    assert answer.status_code == 422
    assert "something called Covers already" in text(answer)


def test_received_counted_and_scrapped_by_the_forms(owner):
    item = a_part("Screws", 10, part="screw")
    owner.post(reverse("rack:item-receive", args=[item.code]), {"many": "5"})
    owner.post(reverse("rack:item-scrap", args=[item.code]), {"many": "2", "note": "rust"})
    owner.post(reverse("rack:item-count", args=[item.code]), {"found": "12"})
    item.refresh_from_db()
    assert item.count == 12
    changes = [line.change for line in item.lines.order_by("pk")]
    assert changes == [10, 5, -2, -1]


def test_a_refused_change_keeps_what_was_typed_and_says_why(owner):
    item = a_part("Screws", 3, part="screw")
    address = reverse("rack:item-scrap", args=[item.code])
    answer = owner.post(address, {"many": "9", "note": "all rusty"})
    assert answer.status_code == 422
    assert "Of Screws there are 3; 9 cannot be taken" in text(answer)
    assert "all rusty" in text(answer)
    assert owner.post(address, {"many": "1", "note": ""}).status_code == 422


def test_an_item_is_held_for_a_reason_and_released(owner):
    item = a_set()
    address = reverse("rack:item-hold", args=[item.code])
    assert owner.post(address, {"because": ""}).status_code == 422
    owner.post(address, {"because": "damp"})
    item.refresh_from_db()
    assert item.held
    assert "damp" in text(owner.get(reverse("rack:item", args=[item.code])))
    owner.post(address, {"release": "1"})
    item.refresh_from_db()
    assert not item.held


@pytest.mark.parametrize(
    ("asked", "found"),
    [
        ({}, ["Old D", "Covers", "Set G"]),
        ({"text": "cover"}, ["Covers"]),
        ({"text": "b1"}, ["Set G"]),
        ({"kind": "donor"}, ["Old D"]),
        ({"there": "on"}, ["Old D", "Set G"]),
        ({"kind": "nonsense"}, ["Old D", "Covers", "Set G"]),
        ({"text": "zzz"}, []),
    ],
)
def test_items_are_found(owner, asked, found):
    a_set()
    a_donor()
    a_part("Covers")
    page = owner.get(reverse("rack:items"), asked).context["page"]
    assert [item.code for item in page] == found


def test_an_empty_store_says_what_to_do(owner):
    assert "Put in the sets, donor instruments and parts" in text(owner.get(reverse("rack:items")))


def test_the_list_and_an_items_page_ask_a_constant_number_of_questions(
    owner, django_assert_num_queries
):
    item = a_part("P", 1)
    for page in (reverse("rack:items"), reverse("rack:item", args=[item.code])):
        with django_assert_num_queries(5):
            owner.get(page)
        for n in range(60):
            a_part(f"{page[-2:]}{n}", 1)
            owner.post(reverse("rack:item-receive", args=[item.code]), {"many": "1"})
        with django_assert_num_queries(5):
            owner.get(page)


def test_looking_changes_nothing(owner):
    item = a_set()
    for page in WHO_MAY:
        owner.get(reverse(f"rack:{page}", args=[item.code]), {"release": "1", "many": "1"})
    item.refresh_from_db()
    assert (item.count, item.held, Entry.objects.count()) == (1, False, 1)
