"""A set or a donor is opened: it leaves the store and its plates are in bins, all or nothing."""

from decimal import Decimal

import pytest

from combwright.shop.rack import actions, change_actions, item_actions, opening
from combwright.shop.rack.actions import NewBin, Slice
from combwright.shop.rack.item_queries import item_faults, last_line
from combwright.shop.rack.models import Bin, Entry, Item
from combwright.shop.rack.opening_actions import Meanwhile, NoneLeft, open_item
from combwright.shop.rack.queries import ledger_faults
from shop.rack.shelves import a_bin, somebody
from shop.rack.stores import a_donor, a_part, a_set, filled_in, opening_page, send

pytestmark = [pytest.mark.django_db, pytest.mark.data]


def slices_of(item, place="G-1", lost=()):
    rows = opening.proposal(item, place, Decimal("2.00"))
    return [
        Slice(
            NewBin(
                row["code"], row["midi"], round(row["slot"] * 1000), row["mount"],
                cut=row["cut"], walk=row["walk"], cost=row["cost"],
            ),
            0 if row["cut"] in lost else 1,
        )
        for row in rows
    ]  # fmt: skip


def test_a_set_leaves_the_store_and_its_twenty_plates_are_in_twenty_bins_in_one_entry():
    item = a_set(came=3)
    entry = open_item(somebody(), item, slices_of(item), note="for the spring")
    item.refresh_from_db()
    assert item.count == 2
    assert entry.why == Entry.OPENED
    assert entry.item_lines.get().change == -1
    assert [line.change for line in entry.lines.all()] == [1] * 20
    assert {each.batch.code for each in Bin.objects.select_related("batch")} == {"b1"}
    # The standard layout in G begins with G3 and A3 (OEIS A291810, a fourth lower).
    assert [Bin.objects.get(code=f"G-1-{n}").note for n in (1, 2)] == ["G3", "A3"]


def test_lost_plates_make_no_bin_and_are_said_in_the_note():
    item = a_set()
    lost = ["5 draw", "9 draw"]
    note = opening.note_of(item, lost, "one cracked")
    entry = open_item(somebody(), item, slices_of(item, lost=lost), note=note)
    assert entry.lines.count() == Bin.objects.count() == 18
    assert not Bin.objects.filter(cut__in=lost).exists()
    assert entry.note == "Set G, in G; 2 plates lost: 5 draw, 9 draw; one cracked"


def test_a_second_set_goes_into_the_bins_of_the_first():
    item = a_set(came=2)
    open_item(somebody(), item, slices_of(item))
    open_item(somebody(), item, slices_of(item, place="elsewhere"))
    assert Bin.objects.count() == 20
    assert set(Bin.objects.values_list("count", flat=True)) == {2}
    assert list(ledger_faults()) == list(item_faults()) == []


def test_a_donor_gives_the_plates_of_its_own_layout_and_its_parts():
    item, covers, screws = a_donor(), a_part("Covers", 4), a_part("Screws", part="screw")
    entry = open_item(somebody(), item, slices_of(item), {covers.pk: 2, screws.pk: 3})
    changes = {line.item.code: line.change for line in entry.item_lines.all()}
    assert changes == {"Old D": -1, "Covers": 2, "Screws": 3}
    sounding = sorted(seat.midi for seat in opening.seats_of(item))
    assert sorted(Bin.objects.values_list("midi", flat=True)) == sounding
    assert Item.objects.get(code="Covers").count == 6


def test_when_none_is_left_the_next_is_told_who_took_the_last():
    item = a_set()
    entry = open_item(somebody("maker"), item, slices_of(item))
    with pytest.raises(NoneLeft, match=rf"Maker took the last, with entry {entry.pk}\."):
        open_item(somebody(), item, slices_of(item))
    assert set(Bin.objects.values_list("count", flat=True)) == {1}


def test_a_page_that_is_sent_twice_does_not_open_two():
    item = a_set(came=3)
    seen = last_line(item).pk
    open_item(somebody(), item, slices_of(item), seen=seen)
    with pytest.raises(Meanwhile, match=r"Nothing is opened yet.*opened, -1; 2 left"):
        open_item(somebody(), item, slices_of(item), seen=seen)
    item.refresh_from_db()
    assert item.count == 2


def test_an_opening_is_taken_back_as_one():
    item, covers = a_donor(), a_part(came=1)
    entry = open_item(somebody(), item, slices_of(item), {covers.pk: 2})
    actions.take_back(somebody(), entry, note="wrong one")
    item.refresh_from_db()
    covers.refresh_from_db()
    assert (item.count, covers.count) == (1, 1)
    assert set(Bin.objects.values_list("count", flat=True)) == {0}
    assert list(ledger_faults()) == list(item_faults()) == []


def test_an_opening_whose_plates_are_gone_is_not_half_taken_back():
    item = a_set()
    entry = open_item(somebody(), item, slices_of(item))
    actions.scrap(somebody(), Bin.objects.get(code="G-1-7"), 1, note="bent")
    with pytest.raises(actions.NotEnough, match="G-1-7"):
        actions.take_back(somebody(), entry, note="wrong one")
    item.refresh_from_db()
    assert item.count == 0


def other(slice_, **facts):
    return Slice(NewBin(**{**{n: getattr(slice_.bin, n) for n in NewBin.__slots__}, **facts}), 1)


def refused(item, slices, match, parts=None):
    before = Entry.objects.count(), Bin.objects.count()
    with pytest.raises(actions.NotSo, match=match):
        open_item(somebody(), item, slices, parts)
    item.refresh_from_db()
    assert item.count == 1
    assert (Entry.objects.count(), Bin.objects.count()) == before


def test_a_bin_with_other_plates_is_refused_and_nothing_is_opened():
    item = a_set()
    first, *rest = slices_of(item)
    a_bin("X-1", 1, midi=70)
    refused(item, [other(first, code="X-1"), *rest], "X-1 holds A#4 of batch b1")
    a_bin("X-2", 1, midi=first.bin.midi, batch="b2")
    refused(item, [other(first, code="X-2"), *rest], "X-2 holds G3 of batch b2")
    a_bin("X-3", 1, midi=first.bin.midi, slot_um=12_000)
    refused(item, [other(first, code="X-3"), *rest], "a slot of 12.00 mm, mounted at the front")
    a_bin("X-4", 1, midi=first.bin.midi, slot_um=first.bin.slot_um, millicents=4_000)
    slices = [other(first, code="X-4", millicents=-2_000), *rest]
    refused(item, slices, r"are \+4.0 cents off")


def test_two_plates_are_not_put_into_one_bin_by_mistake():
    item = a_set()
    first, second, *rest = slices_of(item)
    refused(item, [first, other(second, code=first.bin.code), *rest], "G-1-1 is named twice")


def test_what_is_not_in_it_does_not_come_out_of_it():
    item = a_set()
    first, *rest = slices_of(item)
    refused(item, [other(first, midi=100), *rest], "Set G has no E7")
    refused(item, [first, other(first, code="again"), *rest], "Set G has no G3, or not so many")
    refused(item, [Slice(first.bin, 2), *rest], "Of each plate there is one")
    part = a_part()
    refused(item, [first, *rest], "goes to parts, and to nothing else", {part.pk: 1})


def test_a_donors_parts_go_to_parts_only():
    item, other_item = a_donor(), a_set()
    slices = slices_of(item)
    refused(item, slices, "goes to parts", {other_item.pk: 1})
    refused(item, slices, "1 or more", {a_part().pk: 0})


def test_what_is_held_is_not_opened():
    item = a_set()
    change_actions.hold_item(somebody(), item, "smells of smoke")
    refused(item, slices_of(item), "Set G is held; release it")
    change_actions.release(somebody(), item)
    open_item(somebody(), item, slices_of(item))


def test_a_part_is_not_opened():
    part = a_part(came=1)
    refused(part, [], "is a part; there are no plates")


# The page.


@pytest.fixture
def maker(client):
    client.force_login(somebody("maker"))
    return client


def text(response):
    return " ".join(response.content.decode().split())


def test_the_page_proposes_a_bin_for_each_plate_and_opens_as_proposed(maker):
    item = a_set(came=2, walk="G-1")
    first = maker.get(f"/rack/stores/of/{item.code}/open/")
    assert first.context["form"]["place"].value() == "G-1"
    assert first.context["form"]["cost"].value() == Decimal("2.00")
    page = opening_page(maker, item)
    assert "checked" not in text(page)
    assert Bin.objects.count() == 0
    answer = send(maker, item, filled_in(page))
    assert answer.status_code == 302
    entry = Entry.objects.get(why=Entry.OPENED)
    assert answer.url == f"/rack/ledger/{entry.pk}/"
    shown = text(maker.get(answer.url))
    assert "Set G" in shown
    assert "G-1-20" in shown
    assert Bin.objects.get(code="G-1-4").cost == Decimal("2.00")


def test_a_mistyped_name_makes_no_bin_unless_one_agrees(maker):
    item = a_set()
    sent = filled_in(opening_page(maker, item), **{"plate-3-code": "G-11-4", "note": "by window"})
    answer = send(maker, item, sent)
    assert answer.status_code == 422
    assert "There is no bin G-11-4 yet" in text(answer)
    assert "by window" in text(answer)
    assert Bin.objects.count() == 0
    assert send(maker, item, filled_in(answer, agreed="on")).status_code == 302
    assert Bin.objects.get(code="G-11-4").walk == "G-11-4"


def test_everything_that_is_wrong_is_said_at_once_and_what_was_typed_stays(maker):
    item = a_set()
    wrong = {"plate-0-slot": "long", "plate-1-code": "", "plate-2-cents": "9999"}
    answer = send(maker, item, filled_in(opening_page(maker, item), **wrong))
    assert answer.status_code == 422
    said = text(answer)
    assert "1 blow, Slot (mm): Enter a number." in said
    assert "1 draw, Bin: Fill this in, or tick that the plate is lost." in said
    assert "2 blow, Offset (cents): Ensure this value is less than or equal to 600." in said
    assert 'value="long"' in said
    item.refresh_from_db()
    assert item.count == 1


def test_a_lost_plate_needs_no_bin(maker):
    item = a_set()
    sent = filled_in(opening_page(maker, item), **{"plate-8-lost": "on", "plate-8-code": ""})
    assert send(maker, item, sent).status_code == 302
    assert Entry.objects.get(why=Entry.OPENED).note == "Set G, in G; 1 plate lost: 5 blow"


def test_a_page_sent_again_says_what_happened_and_opens_another_only_when_sent_once_more(maker):
    item = a_set(came=3)
    sent = filled_in(opening_page(maker, item))
    send(maker, item, sent)
    again = send(maker, item, sent)
    assert again.status_code == 422
    assert "Nothing is opened yet" in text(again)
    item.refresh_from_db()
    assert item.count == 2
    assert send(maker, item, filled_in(again)).status_code == 302
    item.refresh_from_db()
    assert item.count == 1


def test_a_donors_parts_are_filled_in_on_the_same_page(maker):
    item, covers = a_donor(), a_part("Covers", 4)
    page = opening_page(maker, item)
    assert "cover: Covers" in text(page)
    sent = filled_in(page, **{f"part-{covers.pk}": "2"})
    assert send(maker, item, sent).status_code == 302
    covers.refresh_from_db()
    assert covers.count == 6
    assert f"part-{covers.pk}" not in text(opening_page(maker, a_set()))


def test_what_cannot_be_opened_says_why_on_its_page(maker):
    item = a_set(came=0)
    assert "There is no Set G to open. Receive one first." in text(opening_page(maker, item))
    part = a_part(came=2)
    assert "there are no plates in it" in text(opening_page(maker, part))


def test_an_item_whose_layout_is_gone_is_refused_in_words(maker):
    item = a_donor()
    Item.objects.filter(pk=item.pk).update(layout="forgotten")
    assert "no &#x27;forgotten&#x27;" in text(opening_page(maker, item))
    assert maker.get(f"/rack/stores/of/{item.code}/").status_code == 200


def test_the_last_one_gone_while_the_page_was_filled_in_is_told_and_nothing_is_lost(maker):
    item = a_set()
    sent = filled_in(opening_page(maker, item), note="mine")
    item_actions.scrap_items(somebody(), item, 1, note="fell down")
    answer = send(maker, item, sent)
    assert answer.status_code == 422
    assert "There is no Set G left to open. Owner took the last" in text(answer)
    assert 'value="mine"' in text(answer)
    assert Bin.objects.count() == 0


@pytest.mark.parametrize("many", [1, 30])
def test_opening_asks_as_many_questions_however_many_parts_there_are(
    maker, django_assert_num_queries, many
):
    item = a_donor()
    for n in range(many):
        a_part(f"P{n}", 1)
    with django_assert_num_queries(10):
        opening_page(maker, item)
