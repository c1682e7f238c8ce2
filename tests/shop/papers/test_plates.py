from concurrent.futures import ThreadPoolExecutor

import pytest
from django.db import connections
from django.urls import reverse
from hypothesis import given
from hypothesis import strategies as st

from combwright.shop.people.roles import Role
from combwright.shop.rack import plate_actions
from combwright.shop.rack.actions import NotEnough, NotSo
from combwright.shop.rack.models import Bin, Entry, Plate
from combwright.shop.rack.plate_codes import (
    SIGNS,
    is_plate_code,
    looks_like_a_plate_code,
    plate_code,
)
from combwright.shop.rack.queries import ledger_faults
from shop.rack.shelves import a_bin, somebody

numbers = st.integers(1, 40_000_000)


def text(response):
    return " ".join(response.content.decode().split())


@given(numbers, st.data())
def test_one_wrong_sign_is_always_caught(number, data):
    code = plate_code(number)
    assert is_plate_code(code)
    at = data.draw(st.integers(0, len(code) - 1))
    wrong = data.draw(st.sampled_from(SIGNS.replace(code[at], "")))
    assert not is_plate_code(code[:at] + wrong + code[at + 1 :])


@given(numbers, st.data())
def test_two_neighbours_that_changed_places_are_always_caught(number, data):
    code = plate_code(number)
    at = data.draw(st.integers(0, len(code) - 2))
    swapped = code[:at] + code[at + 1] + code[at] + code[at + 2 :]
    assert is_plate_code(swapped) == (swapped == code)


@given(numbers, numbers)
def test_codes_differ_and_stand_in_the_order_of_their_numbers(one, other):
    here, there = plate_code(one), plate_code(other)
    assert (here == there) == (one == other)
    if len(here) == len(there):
        assert (here < there) == (one < other)


def test_codes_are_five_signs_for_the_first_nine_hundred_thousand_and_none_looks_like_another():
    assert {len(plate_code(number)) for number in (1, 31, 900_000, 31**4 - 1)} == {5}
    assert len(plate_code(31**4)) == 6
    assert not set("0O1IL") & set(SIGNS)
    assert len(SIGNS) == len(set(SIGNS)) == 31


def test_a_code_with_a_sign_that_is_none_of_ours_may_have_been_meant():
    assert looks_like_a_plate_code("2O2A7")
    assert not is_plate_code("2O2A7")
    assert not looks_like_a_plate_code("A-07-1")


@pytest.mark.data
@pytest.mark.django_db
def test_labelling_plates_gives_codes_and_leaves_the_count():
    here = a_bin(plates=5)
    entries = Entry.objects.count()
    made = plate_actions.label_plates(here, 3)
    assert [is_plate_code(plate.code) for plate in made] == [True] * 3
    assert [plate.code for plate in made] == sorted(plate.code for plate in made)
    kept = Plate.objects.get(code=made[0].code)
    assert (kept.bin, kept.midi, kept.batch, kept.mount) == (here, 60, here.batch, "front")
    assert Bin.objects.get().count == 5
    assert Entry.objects.count() == entries


@pytest.mark.data
@pytest.mark.django_db
def test_no_more_plates_are_labelled_than_lie_in_the_bin():
    here = a_bin(plates=5)
    plate_actions.label_plates(here, 3)
    with pytest.raises(NotSo, match="has 2 plates without a label; 3 cannot be labelled"):
        plate_actions.label_plates(here, 3)
    assert Plate.objects.count() == 3


@pytest.mark.data
@pytest.mark.django_db
def test_a_plate_is_moved_scrapped_and_put_back_with_the_ledger():
    person = somebody()
    here, there = a_bin("A-1", 2), a_bin("A-2", 1)
    (plate,) = plate_actions.label_plates(here, 1)
    plate_actions.move(person, plate, there, note="better light")
    counts = dict(Bin.objects.values_list("code", "count"))
    assert counts == {"A-1": 1, "A-2": 2}
    assert Plate.objects.get().bin == there
    assert Entry.objects.first().note == f"plate {plate.code}: better light"
    plate_actions.scrap(person, plate, "tongue torn")
    gone = Plate.objects.get()
    assert (gone.bin, gone.left_because) == (None, "tongue torn")
    assert Bin.objects.get(code="A-2").count == 1
    with pytest.raises(NotSo, match=r"has left the rack: tongue torn\."):
        plate_actions.scrap(person, plate, "again")
    plate_actions.put_back(person, plate, here, note="mended")
    assert Plate.objects.get().bin == here
    assert Bin.objects.get(code="A-1").count == 2
    assert list(ledger_faults()) == []


@pytest.mark.data
@pytest.mark.django_db
def test_a_plate_goes_into_no_bin_of_other_plates_and_nothing_is_half_done():
    person = somebody()
    here, other = a_bin("A-1", 2), a_bin("A-2", 1, midi=62)
    (plate,) = plate_actions.label_plates(here, 1)
    with pytest.raises(NotSo, match="holds other plates"):
        plate_actions.move(person, plate, other)
    plate_actions.scrap(person, plate, "bent")
    with pytest.raises(NotSo, match="holds other plates"):
        plate_actions.put_back(person, plate, other, note="")
    assert Plate.objects.get().bin is None
    assert Bin.objects.get(code="A-2").count == 1


@pytest.mark.data
@pytest.mark.django_db
def test_a_plate_of_a_bin_that_is_empty_by_the_ledger_stays_where_it_is():
    person = somebody()
    here = a_bin("A-1", 1)
    (plate,) = plate_actions.label_plates(here, 1)
    from combwright.shop.rack.actions import scrap

    scrap(person, here, 1, note="somebody scrapped it by its bin")
    with pytest.raises(NotEnough):
        plate_actions.scrap(person, plate, "bent")
    assert Plate.objects.get().bin == here


def one_hand(_number):
    try:
        made = []
        for _turn in range(5):
            try:
                made += plate_actions.label_plates(Bin.objects.get(code="A-1"), 3)
            except NotSo:
                break
        return [plate.code for plate in made]
    finally:
        connections.close_all()


@pytest.mark.data
@pytest.mark.django_db(transaction=True)
def test_codes_made_by_several_people_at_once_are_never_the_same():
    a_bin("A-1", 40)
    with ThreadPoolExecutor(4) as pool:
        codes = [code for made in pool.map(one_hand, range(4)) for code in made]
    # 40 plates lie there: thirteen threes fit, and nobody labels a fourteenth.
    assert len(codes) == len(set(codes)) == 39
    assert set(Plate.objects.values_list("code", flat=True)) == set(codes)


def moved_by(target):
    try:
        plate_actions.move(somebody(), Plate.objects.get(), Bin.objects.get(code=target))
    except NotSo:
        return 0
    else:
        return 1
    finally:
        connections.close_all()


@pytest.mark.data
@pytest.mark.django_db(transaction=True)
def test_a_plate_moved_by_two_at_once_lies_in_one_bin_and_the_ledger_agrees():
    somebody()
    here = a_bin("A-1", 1)
    a_bin("A-2"), a_bin("A-3")
    plate_actions.label_plates(here, 1)
    with ThreadPoolExecutor(4) as pool:
        done = sum(pool.map(moved_by, ["A-2", "A-3", "A-2", "A-3"]))
    assert 2 <= done <= 4
    place = Plate.objects.get().bin
    assert dict(Bin.objects.values_list("code", "count")) == {
        code: int(code == place.code) for code in ("A-1", "A-2", "A-3")
    }
    assert list(ledger_faults()) == []


@pytest.mark.django_db
def test_plates_are_labelled_on_a_page_that_goes_on_to_print(owner, sheet):
    a_bin("A/1", 4)
    address = reverse("papers:plates-new", args=["A/1"])
    assert "holds 4 plates" in text(owner.get(address))
    answer = owner.post(address, {"plates": "2"}, follow=True)
    codes = list(Plate.objects.values_list("code", flat=True))
    assert len(codes) == 2
    assert "2 labels" in text(answer)
    assert all(code in text(answer) for code in codes)
    refused = owner.post(address, {"plates": "3"})
    assert refused.status_code == 422
    assert "has 2 plates without a label; 3 cannot be labelled" in text(refused)


@pytest.mark.django_db
def test_a_plate_s_page_measures_moves_scraps_and_puts_back(owner):
    here = a_bin("A-1", 2)
    a_bin("A-2")
    code = plate_actions.label_plates(here, 1)[0].code
    page = reverse("papers:plate", args=[code])
    assert "not measured yet" in text(owner.get(page))
    owner.post(reverse("papers:plate-measure", args=[code]), {"cents": "-3.5"})
    assert Plate.objects.get().millicents == -3500
    assert "-3.5 cents" in text(owner.get(page))
    wrong = owner.post(reverse("papers:plate-measure", args=[code]), {"cents": "flat"})
    assert wrong.status_code == 422
    assert 'value="flat"' in text(wrong)
    owner.post(reverse("papers:plate-move", args=[code]), {"target": "A-2"})
    assert Plate.objects.get().bin.code == "A-2"
    assert owner.post(reverse("papers:plate-scrap", args=[code]), {}).status_code == 422
    owner.post(reverse("papers:plate-scrap", args=[code]), {"because": "torn"})
    assert "left the rack: torn" in text(owner.get(page))
    owner.post(reverse("papers:plate-move", args=[code]), {"target": "A-1"})
    assert Plate.objects.get().bin.code == "A-1"
    owner.post(reverse("papers:plate-measure", args=[code]), {"cents": ""})
    assert Plate.objects.get().millicents is None


TAKERS = {"owner", "maker", "packer"}


@pytest.mark.django_db
@pytest.mark.parametrize("role", list(Role))
def test_who_may_label_measure_move_and_scrap_plates(client, role, sheet):
    client.force_login(somebody(role))
    here = a_bin("A-1", 2)
    code = plate_actions.label_plates(here, 1)[0].code
    assert client.get(reverse("papers:plate", args=[code])).status_code == 200
    pages = [("plates-new", "A-1"), ("plate-measure", code), ("plate-move", code)]
    for name, what in [*pages, ("plate-scrap", code)]:
        for answer in (client.get, client.post):
            status = answer(reverse(f"papers:{name}", args=[what])).status_code
            assert (status != 403) == (role in TAKERS), name
