"""Where a batch's plates went: sums that add up, and every line, bin and labelled plate."""

from decimal import Decimal

import pytest
from django.urls import reverse

from combwright.shop.people.roles import Role
from combwright.shop.rack import actions, opening, trace
from combwright.shop.rack.actions import NewBin, Slice
from combwright.shop.rack.models import Batch, Bin, Entry, Line, Plate
from combwright.shop.rack.opening_actions import open_item
from shop.rack.shelves import a_bin, somebody
from shop.rack.stores import a_set

pytestmark = [pytest.mark.django_db, pytest.mark.data]


def opened(item, lost=()):
    rows = opening.proposal(item, "G-1", Decimal(2))
    slices = [
        Slice(
            NewBin(r["code"], r["midi"], round(r["slot"] * 1000), r["mount"], cut=r["cut"]),
            0 if r["cut"] in lost else 1,
        )
        for r in rows
    ]
    return open_item(somebody(), item, slices)


def ways(batch):
    return {each.name: (each.came, each.went, each.lines) for each in trace.destinations(batch)}


def a_days_work():
    """Receive, open, move, scrap, count, put back and take back, in batch b1."""
    first, second = a_bin("A-1", 10), a_bin("A-2")
    a_bin("Z-1", 50, batch="other")
    opened(a_set(came=2), lost=["5 draw"])
    actions.move(somebody(), first, second, 4)
    wrong = actions.scrap(somebody(), first, 2, note="bent")
    actions.scrap(somebody(), second, 1, note="rust")
    actions.take_back(somebody(), wrong, note="they were fine")
    actions.count(somebody(), first, 5)
    actions.count(somebody(), second, 4)
    actions.put_back(somebody(), second, 2, note="from a repair")
    return Batch.objects.get(code="b1")


def test_each_way_is_summed_with_its_name_and_the_sums_add_up():
    batch = a_days_work()
    assert ways(batch) == {
        "received": (10, 0, 1),
        "opened": (19, 0, 19),
        "moved": (4, 4, 2),
        "scrapped": (0, 3, 2),
        "taken back: scrapped": (2, 0, 1),
        "counted": (1, 1, 2),
        "put back": (2, 0, 1),
    }
    summary = trace.summary(batch)
    assert (summary.came, summary.went, summary.there) == (38, 8, 30)
    assert summary.adds_up
    there = sum(Bin.objects.filter(batch=batch).values_list("count", flat=True))
    assert there == 30


def test_sums_that_do_not_add_up_are_said(client):
    batch = a_days_work()
    Bin.objects.filter(code="A-1").update(count=99)
    assert not trace.summary(batch).adds_up
    client.force_login(somebody())
    page = client.get(reverse("rack:trace", args=["b1"])).content.decode()
    assert "do not add up" in page


def test_sets_opened_and_plates_lost_over_it_are_told_unless_it_was_taken_back():
    item = a_set(came=3)
    opened(item, lost=["5 draw", "9 draw"])
    undone = opened(item)
    actions.take_back(somebody(), undone, note="the wrong one")
    (told,) = trace.opened_of(item.batch)
    assert (told.item.count, told.opened, told.lost) == (2, 1, 2)


def test_a_batch_of_which_nothing_came_has_no_way():
    batch = Batch.objects.create(code="new")
    assert trace.summary(batch) == trace.Summary((), 0)


@pytest.mark.parametrize("role", list(Role))
def test_everyone_may_look_at_the_trace(client, role):
    a_days_work()
    client.force_login(somebody(role))
    page = client.get(reverse("rack:trace", args=["b1"]))
    assert page.status_code == 200
    assert {line.bin.batch_id for line in page.context["page"].object_list} == {
        Batch.objects.get(code="b1").pk
    }
    assert reverse("rack:trace", args=["b1"]) in client.get(
        reverse("rack:batch", args=["b1"])
    ).content.decode()  # fmt: skip


def test_bins_and_labelled_plates_are_listed_with_where_they_are(client):
    batch = a_days_work()
    home = Bin.objects.get(code="A-1")
    facts = {"batch": batch, "midi": 60, "slot_um": 16_800, "mount": "front"}
    Plate.objects.create(code="P1", bin=home, **facts)
    Plate.objects.create(code="P2", left_because="into instrument 7", **facts)
    client.force_login(somebody())
    address = reverse("rack:trace", args=["b1"])
    bins = client.get(address, {"list": "bins"})
    assert {each.code for each in bins.context["page"]} >= {"A-1", "A-2", "G-1-1"}
    assert "Z-1" not in bins.content.decode()
    plates = client.get(address, {"list": "plates"}).content.decode()
    assert "out of the rack: into instrument 7" in plates
    assert client.get(address, {"list": "nonsense"}).context["listed"] == "lines"


QUESTIONS = {"lines": 12, "bins": 12, "plates": 12}


@pytest.mark.parametrize("listed", list(QUESTIONS))
def test_the_trace_asks_a_constant_number_of_questions(client, listed, django_assert_num_queries):
    client.force_login(somebody())
    batch = a_days_work()
    facts = {"batch": batch, "midi": 60, "slot_um": 1, "mount": "front"}
    Plate.objects.create(code="P", left_because="lent", **facts)
    address = reverse("rack:trace", args=["b1"])
    with django_assert_num_queries(QUESTIONS[listed]):
        client.get(address, {"list": listed})
    batch = Batch.objects.get(code="b1")
    for n in range(60):
        home = a_bin(f"M-{n}", 2)
        Plate.objects.create(code=f"P{n}", bin=home, batch=batch, midi=60, slot_um=1, mount="front")
    opened(a_set("Another", came=1))
    with django_assert_num_queries(QUESTIONS[listed]):
        client.get(address, {"list": listed})


def test_a_long_trace_is_walked_through_in_stretches(client):
    home = a_bin("A-1")
    entry = Entry.objects.create(made_by=somebody(), why=Entry.COUNTED)
    for _n in range(120):
        entry = Entry.objects.create(made_by=somebody(), why=Entry.COUNTED)
        Line.objects.create(entry=entry, bin=home, change=0, after=0)
    client.force_login(somebody())
    address, seen, older = reverse("rack:trace", args=["b1"]), [], None
    while True:
        page = client.get(address, {"older": older} if older else {}).context["page"]
        seen += [line.pk for line in page.object_list]
        if not (older := page.older):
            break
    assert seen == sorted(home.lines.values_list("pk", flat=True), reverse=True)
