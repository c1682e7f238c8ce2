"""Every list, search and picture asks the same few questions however much there is."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from combwright.shop.rack import actions
from combwright.shop.rack.models import Bin, Entry
from shop.rack.shelves import a_bin, somebody

pytestmark = [pytest.mark.django_db, pytest.mark.data]

#: Two of them ask who one is. A search lists batches to choose from; a numbered list counts first.
QUESTIONS = {
    "/rack/": 5,
    "/rack/bins/": 5,
    "/rack/bins/?page=2": 5,
    "/rack/bins/?text=A-&note=C4&mount=front&batch=b1&fits=17&plates=on": 6,
    "/rack/bin/A-000/": 6,
    "/rack/bin/A-000/?older=1000000000": 6,
    "/rack/bin/A-000/?newer=0": 6,
    "/rack/batches/": 4,
    "/rack/batches/b1/": 5,
    "/rack/batches/b1/?page=2": 5,
    "/rack/ledger/": 5,
    "/rack/ledger/?older=1000000000": 5,
    "/rack/ledger/?newer=0": 5,
    "/rack/imports/": 3,
}


def fill(bins, batches, turns):
    owner = somebody("owner")
    for n in range(bins):
        a_bin(f"A-{n:03}", batch=f"b{1 + n % batches}")
    keys = Bin.objects.values_list("pk", flat=True)
    actions.post(owner, Entry.RECEIVED, dict.fromkeys(keys, 3))
    for n in range(turns):
        person = somebody("maker", f"maker {n % 5}")
        entry = actions.count(person, Bin.objects.get(code="A-000"), n % 4)
        if n % 3 == 0:
            actions.take_back(owner, entry, note="miscounted")


def asked(client, address):
    with CaptureQueriesContext(connection) as queries:
        answer = client.get(address)
        count = len(queries)
    assert answer.status_code == 200, address
    return count


@pytest.fixture
def owner(client):
    client.force_login(somebody("owner"))
    return client


@pytest.mark.parametrize(("bins", "batches", "turns"), [(2, 1, 3), (130, 60, 60)])
def test_the_number_of_questions_does_not_grow(owner, bins, batches, turns):
    fill(bins, batches, turns)
    assert {address: asked(owner, address) for address in QUESTIONS} == QUESTIONS


@pytest.mark.parametrize("bins", [2, 130])
def test_an_entry_with_many_lines_asks_no_more(owner, bins):
    fill(bins, 1, 0)
    entry = Entry.objects.get()
    assert entry.lines.count() == bins
    assert asked(owner, reverse("rack:entry", args=[entry.pk])) == 8


def entries(many):
    owner = somebody("owner")
    made = [Entry(made_by=owner, why=Entry.COUNTED) for _ in range(many)]
    Entry.objects.bulk_create(made)
    return list(Entry.objects.order_by("-pk").values_list("pk", flat=True))


def walk(client, way, asked_for):
    """Go along the ledger as its links lead; return the keys that each stretch shows."""
    seen = []
    while asked_for is not None:
        page = client.get("/rack/ledger/", asked_for).context["page"]
        seen.append([each.pk for each in page.object_list])
        key = getattr(page, way)
        asked_for = None if key is None else {way: key}
    return seen


@pytest.mark.parametrize("many", [0, 1, 49, 50, 51, 100, 130])
def test_walking_through_the_ledger_either_way_shows_every_entry_once(owner, many):
    keys = entries(many)
    there, back = walk(owner, "older", {}), walk(owner, "newer", {"newer": 0})
    assert [key for some in there for key in some] == keys
    assert [key for some in reversed(back) for key in some] == keys
    assert {len(some) for some in there[:-1] + back[:-1]} <= {50}


def test_the_links_lead_on_only_where_there_is_more(owner):
    keys = entries(130)
    for asked_for, newer, older in [
        ({}, None, keys[49]),
        ({"older": keys[49]}, keys[50], keys[99]),
        ({"older": keys[99]}, keys[100], None),
        ({"newer": 0}, keys[80], None),
        ({"newer": keys[100]}, keys[50], keys[99]),
        ({"newer": keys[50]}, None, keys[49]),
    ]:
        page = owner.get("/rack/ledger/", asked_for).context["page"]
        assert (page.newer, page.older) == (newer, older), asked_for


@pytest.mark.parametrize("asked_for", [
    {"older": "soon"}, {"newer": "-1"}, {"older": "9" * 30}, {"newer": "٣"}, {"older": ""},
])  # fmt: skip
def test_an_address_that_names_no_key_shows_the_newest(owner, asked_for):
    keys = entries(60)
    page = owner.get("/rack/ledger/", asked_for).context["page"]
    assert page.object_list[0].pk == keys[0]
    assert page.newer is None


def test_beyond_either_end_there_is_nothing_but_a_way_back(owner):
    keys = entries(3)
    for beyond in ({"newer": 10**12}, {"newer": keys[0]}, {"older": keys[-1]}):
        answer = owner.get("/rack/ledger/", beyond)
        assert answer.status_code == 200
        assert answer.context["page"].object_list == []
        assert '<nav class="pager"' in answer.content.decode()


def test_the_ledger_tells_bins_and_plates_of_each_entry(owner):
    fill(3, 1, 1)
    told = {
        e.why: (e.bins, e.plates) for e in owner.get("/rack/ledger/").context["page"].object_list
    }
    assert told == {"received": (3, 9), "counted": (1, -3), "corrected": (1, 3)}
