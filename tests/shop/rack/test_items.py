"""Sets, donors and parts as wholes: made, received, counted, scrapped, taken back."""

import pytest
from django.urls import reverse
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from combwright.shop.rack import actions, item_actions
from combwright.shop.rack.item_actions import NewItem
from combwright.shop.rack.item_queries import item_faults
from combwright.shop.rack.models import Change, Entry, Item, ItemLine
from shop.rack.shelves import somebody
from shop.rack.stores import a_part, a_set

pytestmark = [pytest.mark.django_db, pytest.mark.data]


def test_what_comes_with_a_new_item_is_received_at_once():
    item = a_set(came=3)
    (line,) = item.lines.all()
    assert (item.count, line.change, line.after) == (3, 3, 3)
    assert line.entry.why == Entry.RECEIVED


def test_an_item_of_which_none_is_there_has_no_ledger():
    item = a_set(came=0)
    assert (item.count, item.lines.count(), Entry.objects.count()) == (0, 0, 0)


def test_a_name_is_given_once():
    a_set("Set G")
    with pytest.raises(actions.NotSo, match="something called Set G already"):
        a_part("Set G", came=5)
    assert Item.objects.count() == 1
    assert Entry.objects.count() == 1


@pytest.mark.parametrize("code", ["a/open", "scrap", "..", "a/../b", "/a", "a/", "a\x07b", "."])
def test_a_name_that_no_page_could_have_is_refused(code):
    with pytest.raises(actions.NotSo, match="cannot be a name here"):
        a_part(code)


@pytest.mark.parametrize("code", ["S/1", "open-ended", "A set, in G #2?", "open/2", "%2F", "…"])
def test_other_names_lead_to_their_pages(client, code):
    a_part(code)
    client.force_login(somebody())
    assert client.get(reverse("rack:item", args=[code])).status_code == 200


@pytest.mark.parametrize(
    "new",
    [
        NewItem("x", Item.PART),
        NewItem("x", Item.PART, part="cover", key="G"),
        NewItem("x", Item.SET, key="G", layout="standard"),
        NewItem("x", Item.DONOR, key="G", batch="b1"),
        NewItem("x", Item.SET, key="G", layout="standard", batch="b1", part="cover"),
    ],
)
def test_an_item_that_is_half_said_is_refused(new):
    with pytest.raises(actions.NotSo):
        item_actions.make_item(somebody(), new)
    assert not Item.objects.exists()


def test_no_more_is_scrapped_than_is_there():
    item = a_part("Screws", 10, part="screw")
    with pytest.raises(actions.NotEnough, match="Of Screws there are 10; 11 cannot be taken"):
        item_actions.scrap_items(somebody(), item, 11, note="rust")
    item.refresh_from_db()
    assert item.count == 10


def test_a_count_books_the_difference_and_says_when():
    item = a_part("Screws", 10, part="screw")
    assert item_actions.count_items(somebody(), item, 7).item_lines.get().change == -3
    assert item_actions.count_items(somebody(), item, 7).item_lines.get().change == 0
    item.refresh_from_db()
    assert item.count == 7
    assert item.counted_at is not None
    with pytest.raises(actions.NotSo, match="count of -1 cannot be"):
        item_actions.count_items(somebody(), item, -1)


@pytest.mark.parametrize("many", [0, -2])
def test_nothing_is_not_received_or_scrapped(many):
    item = a_part(came=5)
    with pytest.raises(actions.NotSo, match="give 1 or more"):
        item_actions.receive_items(somebody(), item, many)
    with pytest.raises(actions.NotSo, match="give 1 or more"):
        item_actions.scrap_items(somebody(), item, many, note="x")


def test_the_proof_finds_an_item_that_was_changed_behind_the_ledger():
    item = a_part(came=4)
    assert list(item_faults()) == []
    Item.objects.filter(pk=item.pk).update(count=9)
    (fault,) = item_faults()
    assert (fault.bin, fault.holds, fault.ledger) == (item.code, 9, 4)


steps = st.lists(
    st.tuples(
        st.sampled_from(["receive", "scrap", "count", "take back"]),
        st.integers(0, 1),
        st.integers(-1, 9),
    ),
    max_size=20,
)


@settings(
    max_examples=40,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(steps=steps)
def test_whatever_is_done_items_are_the_sum_of_their_ledger_and_never_negative(steps):
    ItemLine.objects.all().delete()
    Change.objects.all().delete()
    Entry.objects.update(corrects=None)
    Entry.objects.all().delete()
    Item.objects.all().delete()
    person, items = somebody(), [a_part("A"), a_part("B")]
    model = [0, 0]
    for what, here, number in steps:
        before = list(model)
        try:
            _do(what, person, items, here, number, model)
        except actions.NotSo:
            model[:] = before
        for item in items:
            item.refresh_from_db()
        assert [item.count for item in items] == model
        assert min(model) >= 0
        assert list(item_faults()) == []


def _do(what, person, items, here, number, model):
    if what == "receive":
        item_actions.receive_items(person, items[here], number)
        model[here] += number
    elif what == "scrap":
        item_actions.scrap_items(person, items[here], number, note="x")
        model[here] -= number
    elif what == "count":
        item_actions.count_items(person, items[here], number)
        model[here] = number
    elif last := Entry.objects.order_by("-id").first():
        changes = {line.item_id: line.change for line in last.item_lines.all()}
        actions.take_back(person, last, note="x")
        for place, item in enumerate(items):
            model[place] -= changes.get(item.pk, 0)
