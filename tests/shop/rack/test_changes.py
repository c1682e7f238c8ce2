"""A bin's and an item's own facts are changed in place, and what they were is never lost."""

from decimal import Decimal

import pytest
from django.urls import reverse

from combwright.shop.people.roles import Role
from combwright.shop.rack import actions, change_actions
from combwright.shop.rack.models import Batch, Bin, Change
from shop.rack.shelves import a_bin, somebody
from shop.rack.stores import a_part, a_set

pytestmark = [pytest.mark.django_db, pytest.mark.data]


def text(response):
    return " ".join(response.content.decode().split())


@pytest.fixture
def owner(client):
    client.force_login(somebody("owner"))
    return client


def form_of(client, page, holder):
    """Return what a browser would send when nothing is changed in the form."""
    form = client.get(reverse(f"rack:{page}", args=[holder.code])).context["form"]
    sent = {}
    for field in form:
        shown = "" if field.value() is None else str(field.value())
        sent[field.html_name] = shown
        sent[field.html_initial_name] = shown
    return sent


def test_a_change_says_who_when_why_and_what_was_there():
    plates = a_bin(plates=3)
    facts = {"walk": "B-2", "cost": Decimal("2.50"), "slot_um": 16_800}
    change = change_actions.change_bin(somebody("packer"), plates, facts, note="new shelf")
    plates.refresh_from_db()
    assert (plates.walk, plates.cost, plates.count) == ("B-2", Decimal("2.50"), 3)
    assert change.facts == {"walk": ["A-01-1", "B-2"], "cost": ["2.20", "2.50"]}
    assert (change.made_by.name, change.note) == ("packer", "new shelf")


def test_what_is_so_already_leaves_no_trace():
    plates = a_bin()
    assert change_actions.change_bin(somebody(), plates, {"cost": Decimal("2.2")}) is None
    assert not Change.objects.exists()


def test_note_and_batch_are_changed_only_while_nothing_was_written_about_the_bin():
    plates = a_bin()
    change_actions.change_bin(somebody(), plates, {"midi": 61, "batch": "b9"})
    plates.refresh_from_db()
    assert (plates.note, plates.batch.code) == ("C#4", "b9")
    entry = actions.receive(somebody(), plates, 2)
    actions.take_back(somebody(), entry, note="x")
    plates.refresh_from_db()
    assert plates.count == 0
    for facts in ({"midi": 62}, {"batch": "b1"}):
        with pytest.raises(actions.NotSo, match="has a ledger"):
            change_actions.change_bin(somebody(), plates, facts)
    assert change_actions.change_bin(somebody(), plates, {"midi": 61}) is None


def test_counts_and_names_are_not_changed_here():
    for fact in ("count", "code", "held"):
        with pytest.raises(ValueError, match=fact):
            change_actions.change_bin(somebody(), a_bin(f"A-{fact}"), {fact: 1})


def test_a_bin_is_held_for_a_reason_and_released_and_both_are_kept():
    plates = a_bin(plates=2)
    change_actions.hold_bin(somebody(), plates, " rattles ")
    plates.refresh_from_db()
    assert plates.as_stock().held
    change_actions.release(somebody(), plates)
    plates.refresh_from_db()
    assert not plates.as_stock().held
    assert [(each.facts, each.note) for each in Change.objects.order_by("pk")] == [
        ({"held": [False, True]}, "rattles"), ({"held": [True, False]}, ""),
    ]  # fmt: skip
    with pytest.raises(actions.NotSo, match="Say why"):
        change_actions.hold_bin(somebody(), plates, "  ")


def test_the_form_changes_a_bin_and_its_page_tells_what_it_was(owner):
    plates = a_bin(plates=3)
    sent = form_of(owner, "bin-change", plates) | {
        "slot_um": "16.55", "millicents": "-2.5", "mount": "rear", "why": "measured anew",
    }  # fmt: skip
    assert owner.post(reverse("rack:bin-change", args=[plates.code]), sent).status_code == 302
    plates.refresh_from_db()
    assert (plates.slot_um, plates.millicents, plates.mount) == (16_550, -2_500, "rear")
    page = text(owner.get(reverse("rack:bin", args=[plates.code])))
    for told in (
        "slot: 16.55 mm, was 16.8 mm", "measured offset: -2.5, was 0", "mount: rear, was front",
        "measured anew",
    ):  # fmt: skip
        assert told in page
    assert "note" not in owner.get(reverse("rack:bin-change", args=[plates.code])).context[
        "form"
    ].fields  # fmt: skip


def test_what_another_changed_meanwhile_stays(owner):
    plates = a_bin(plates=3)
    sent = form_of(owner, "bin-change", plates)
    change_actions.change_bin(somebody("packer"), plates, {"walk": "moved"})
    owner.post(reverse("rack:bin-change", args=[plates.code]), sent | {"cost": "9.00"})
    plates.refresh_from_db()
    assert (plates.walk, plates.cost) == ("moved", Decimal("9.00"))
    assert Change.objects.first().facts == {"cost": ["2.20", "9.00"]}


def test_an_empty_bin_may_become_another_kind_by_the_form(owner):
    plates = a_bin()
    sent = form_of(owner, "bin-change", plates) | {"midi": "F#5", "batch": "b7"}
    owner.post(reverse("rack:bin-change", args=[plates.code]), sent)
    plates.refresh_from_db()
    assert (plates.note, plates.batch.code) == ("F#5", "b7")
    assert Batch.objects.filter(code="b1").exists()


def test_a_wrong_measure_is_said_and_nothing_is_changed(owner):
    plates = a_bin(plates=3)
    sent = form_of(owner, "bin-change", plates) | {"slot_um": "sixteen", "walk": "B-2"}
    answer = owner.post(reverse("rack:bin-change", args=[plates.code]), sent)
    assert answer.status_code == 422
    assert 'value="sixteen"' in text(answer)
    assert 'value="B-2"' in text(answer)
    assert Bin.objects.get().walk == "A-01-1"
    assert not Change.objects.exists()


def test_nothing_typed_changes_nothing(owner):
    plates = a_bin(plates=3, millicents=-1_250)
    sent = form_of(owner, "bin-change", plates)
    answer = owner.post(reverse("rack:bin-change", args=[plates.code]), sent, follow=True)
    assert "Nothing was to be changed" in text(answer)
    assert not Change.objects.exists()


def test_an_items_facts_are_changed_and_told(owner):
    item = a_set(came=2)
    sent = form_of(owner, "item-change", item) | {"walk": "S-4", "cost": "41.50", "why": "dearer"}
    assert owner.post(reverse("rack:item-change", args=[item.code]), sent).status_code == 302
    item.refresh_from_db()
    assert (item.walk, item.cost, item.count) == ("S-4", Decimal("41.50"), 2)
    page = text(owner.get(reverse("rack:item", args=[item.code])))
    assert "cost of one: 41.50, was 40.00" in page
    assert "place on the walk: S-4, was –" in page
    with pytest.raises(actions.NotSo, match="has a ledger"):
        change_actions.change_item(somebody(), item, {"key": "A"})


def test_what_a_part_is_may_be_mended_while_none_came(owner):
    part = a_part(part="cuver")
    sent = form_of(owner, "item-change", part) | {"part": "cover"}
    owner.post(reverse("rack:item-change", args=[part.code]), sent)
    part.refresh_from_db()
    assert part.part == "cover"


def test_many_changes_are_shown_on_demand(owner):
    plates = a_bin()
    for n in range(25):
        change_actions.change_bin(somebody(), plates, {"walk": f"W-{n}"})
    address = reverse("rack:bin", args=[plates.code])
    assert len(owner.get(address).context["changes"]) == 20
    assert len(owner.get(address, {"changes": "all"}).context["changes"]) == 25


@pytest.mark.parametrize("role", list(Role))
def test_who_may_change_and_hold(client, role):
    client.force_login(somebody(role))
    plates, item = a_bin(plates=2), a_set()
    changers = {"owner", "office", "packer"}
    holders = {"owner", "maker"}
    for page, holder, who in [
        ("bin-change", plates, changers), ("item-change", item, changers),
        ("bin-hold", plates, holders), ("item-hold", item, holders),
    ]:  # fmt: skip
        for ask in (client.get, client.post):
            answer = ask(reverse(f"rack:{page}", args=[holder.code]))
            assert (answer.status_code != 403) == (role in who), page
    client.post(reverse("rack:bin-hold", args=[plates.code]), {"release": "1"})
    client.post(reverse("rack:bin-hold", args=[plates.code]), {"because": "rattles"})
    assert Bin.objects.get().held == (role in holders)
