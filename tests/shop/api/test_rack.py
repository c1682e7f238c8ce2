"""Bins, their plates and the ledger, as a program sees and changes them."""

import pytest

from combwright.shop.rack import actions
from combwright.shop.rack.models import Bin, Entry
from combwright.shop.rack.queries import ledger_faults
from shop.api.programs import a_program, problem, somebody
from shop.rack.shelves import a_bin

pytestmark = [pytest.mark.django_db, pytest.mark.data]


def test_a_bin_is_told_under_the_names_of_the_file_of_the_rack():
    a_bin("A-01-1", 7, millicents=2500, cut="5 draw")
    told = a_program().get("/bins/A-01-1").json()
    lines, holes = told.pop("lines"), told.pop("holes")
    assert told == {
        "bin": "A-01-1", "pitch": "C4", "cents": 2.5, "slot_mm": 16.8, "mount": "front",
        "batch": "b1", "count": 7, "cost": "2.20", "cut": "5 draw", "walk": "A-01-1",
        "held": False, "counted_at": None, "next": None,
    }  # fmt: skip
    assert holes
    assert [(line["why"], line["change"], line["after"]) for line in lines] == [("received", 7, 7)]


def test_a_bin_of_any_name_is_reached():
    program = a_program()
    for code in ("A/7 left", "receive/x", "50% ?#&", "Ä-ö", "x/"):
        a_bin(code, 1)
        path = "".join(f"%{byte:02x}" for byte in code.encode())
        assert program.get(f"/bins/{path}").json()["bin"] == code
        assert program.post(f"/receive/{path}", {"plates": 2}).status_code == 201
        assert Bin.objects.get(code=code).count == 3


def test_the_list_is_read_in_parts_and_every_bin_comes_once():
    for n in range(7):
        a_bin(f"A-{n}")
    program, seen, after = a_program(), [], None
    while True:
        asked = {"limit": 3} | ({"after": after} if after else {})
        part = program.get("/bins", asked).json()
        seen += [each["bin"] for each in part["bins"]]
        if (after := part["next"]) is None:
            break
    assert seen == [f"A-{n}" for n in range(7)]


def test_the_list_is_narrowed_as_on_the_page():
    a_bin("A-1", 3, midi=60, slot_um=16_800)
    a_bin("A-2", 0, midi=61, slot_um=16_800)
    a_bin("B-1", 1, midi=60, slot_um=12_000, batch="b2")
    program = a_program()

    def found(**asked):
        return [each["bin"] for each in program.get("/bins", asked).json()["bins"]]

    assert found(pitch="C4") == ["A-1", "B-1"]
    assert found(pitch="C#4") == found(pitch="Db4") == ["A-2"]
    assert found(text="b-") == ["B-1"]
    assert found(batch="b2") == found(fits_mm="13.5") == ["B-1"]
    assert found(with_plates="true") == ["A-1", "B-1"]
    assert program.get("/bins", {"count": "true", "limit": 1}).json()["count"] == 3
    assert program.get("/bins", {"limit": 1}).json()["count"] is None


def test_a_list_asks_the_database_as_often_for_fifty_bins_as_for_one(
    django_assert_max_num_queries,
):
    for n in range(50):
        a_bin(f"A-{n:02}")
    program = a_program()
    program.get("/me")
    with django_assert_max_num_queries(2):
        assert len(program.get("/bins").json()["bins"]) == 50


def test_the_ledger_asks_the_database_as_often_for_fifty_entries_as_for_one(
    django_assert_max_num_queries,
):
    plate_bin = a_bin()
    for _ in range(50):
        actions.receive(somebody(), plate_bin, 1)
    program = a_program()
    program.get("/me")
    with django_assert_max_num_queries(8):
        assert len(program.get("/entries").json()["entries"]) == 50


def test_everything_that_is_done_to_plates_is_one_entry_with_its_person():
    a_bin("A-1", 5)
    a_bin("A-2")
    program = a_program("maker")
    done = [
        program.post("/receive/A-1", {"plates": 2, "note": "post"}),
        program.post("/scrap/A-1", {"plates": 1, "note": "split"}),
        program.post("/put-back/A-1", {"plates": 1, "note": "from W-7"}),
        program.post("/move/A-1", {"into": "A-2", "plates": 3}),
        program.post("/count/A-1", {"found": 9}),
    ]
    assert [each.status_code for each in done] == [201] * 5
    told = [each.json() for each in done]
    assert [each["why"] for each in told] == [
        "received", "scrapped", "returned", "moved", "counted",
    ]  # fmt: skip
    assert {each["made_by"] for each in told} == {"Maker"}
    assert told[3]["lines"] == [
        {"bin": "A-1", "change": -3, "after": 4},
        {"bin": "A-2", "change": 3, "after": 3},
    ]
    assert Bin.objects.get(code="A-1").count == 9
    assert list(ledger_faults()) == []


def test_what_a_bin_does_not_hold_cannot_be_taken_and_nothing_is_done():
    a_bin("A-1", 2)
    told = problem(a_program().post("/scrap/A-1", {"plates": 3, "note": "x"}), 409, "refused")
    assert told["detail"] == "Bin A-1 holds 2 plates; 3 cannot be taken from it."
    assert Bin.objects.get(code="A-1").count == 2
    assert Entry.objects.count() == 1


def test_a_bin_is_made_and_measures_are_kept_to_the_thousandth():
    body = {
        "bin": "N-1", "pitch": "Bb4", "cents": -1.23449, "slot_mm": 14.2, "mount": "rear",
        "batch": "new", "cost": "2.2",
    }  # fmt: skip
    made = a_program().post("/bins", body)
    assert made.status_code == 201
    assert made.json()["pitch"] == "A#4"
    assert made.json()["cost"] == "2.20"
    there = Bin.objects.get(code="N-1")
    assert (there.midi, there.millicents, there.slot_um) == (70, -1234, 14_200)
    again = a_program().post("/bins", body)
    assert "There is a bin N-1 already" in problem(again, 409, "refused")["detail"]


def test_an_entry_is_taken_back_once():
    a_bin("A-1", 2)
    first = Entry.objects.get()
    program = a_program("office")
    back = program.post(f"/entries/{first.pk}/take-back", {"note": "wrong drawer"}).json()
    assert (back["corrects"], back["lines"]) == (
        first.pk,
        [{"bin": "A-1", "change": -2, "after": 0}],
    )
    assert program.get(f"/entries/{first.pk}").json()["taken_back_by"] == back["entry"]
    again = program.post(f"/entries/{first.pk}/take-back", {"note": "x"})
    assert "taken back before" in problem(again, 409, "refused")["detail"]


def test_the_ledger_is_followed_from_the_last_number_seen():
    plate_bin = a_bin("A-1")
    numbers = [actions.receive(somebody(), plate_bin, n).pk for n in (1, 2, 3)]
    program = a_program()
    part = program.get("/entries", {"after": numbers[0] - 1, "limit": 2}).json()
    assert ([each["entry"] for each in part["entries"]], part["more"]) == (numbers[:2], True)
    rest = program.get("/entries", {"after": part["next"]}).json()
    assert [each["entry"] for each in rest["entries"]] == numbers[2:]
    none = program.get("/entries", {"after": rest["next"]}).json()
    assert (none["entries"], none["next"], none["more"]) == ([], numbers[2], False)


def test_a_bins_ledger_is_read_in_parts_the_newest_first():
    plate_bin = a_bin("A-1")
    for n in range(5):
        actions.receive(somebody(), plate_bin, n + 1)
    program = a_program()
    part = program.get("/bins/A-1", {"limit": 2}).json()
    assert [line["change"] for line in part["lines"]] == [5, 4]
    part = program.get("/bins/A-1", {"limit": 3, "before": part["next"]}).json()
    assert ([line["change"] for line in part["lines"]], part["next"]) == ([3, 2, 1], None)


def test_a_batch_is_held_and_released():
    a_bin("A-1")
    program = a_program()
    assert program.post("/hold/b1", {"because": "rivets"}).json()["held_because"] == "rivets"
    assert program.get("/bins/A-1").json()["held"] is True
    assert program.post("/release/b1").json()["held"] is False
    assert [each["batch"] for each in program.get("/batches").json()["batches"]] == ["b1"]
    assert program.get("/batches/b1").json()["held"] is False


def test_a_set_is_received_as_proposed_or_with_what_is_different():
    program = a_program()
    asked = {"key": "C", "batch": "b7", "place": "A-07", "cost": "2.20"}
    proposed = program.get("/sets/proposal", asked).json()["plates"]
    assert len(proposed) == 20
    assert (proposed[0]["bin"], proposed[0]["pitch"]) == ("A-07-1", "C4")
    proposed[0]["lost"] = 1
    entry = program.post("/sets", asked | {"sets": 2, "plates": proposed}).json()
    assert [line["change"] for line in entry["lines"]] == [1] + [2] * 19
    assert entry["note"] == "2 sets in C; lost in slicing: 1 blow × 1"
    again = program.post("/sets", asked | {"note": "as usual"}).json()
    assert [line["after"] for line in again["lines"]] == [2] + [3] * 19
    assert Bin.objects.count() == 20
    assert list(ledger_faults()) == []


def test_more_than_came_cannot_be_lost():
    program = a_program()
    asked = {"key": "C", "batch": "b7", "place": "A-07"}
    proposed = program.get("/sets/proposal", asked).json()["plates"]
    proposed[3]["lost"] = 2
    told = problem(program.post("/sets", asked | {"plates": proposed}), 409, "refused")
    assert told["detail"] == "Bin A-07-4: 2 plates cannot be lost of 1."
    assert not Bin.objects.exists()


def test_the_totals_are_told():
    a_bin("A-1", 4)
    assert a_program().get("/totals").json() == {"bins": 1, "plates": 4, "held": 0}


def test_layouts_are_told_in_a_key():
    program = a_program()
    names = [each["layout"] for each in program.get("/layouts").json()["layouts"]]
    assert "standard" in names
    told = program.get("/layouts/standard", {"key": "G"}).json()
    assert (told["holes"], len(told["seats"]), told["seats"][0]["pitch"]) == (10, 20, "G3")
    assert (
        program.get("/layouts/richter").json()["seats"]
        == (program.get("/layouts/standard").json()["seats"])
    )
    problem(program.get("/layouts/no-such"), 404, "not-there")
    assert program.get("/layouts/standard", {"key": "low F"}).json()["seats"][0]["pitch"] == "F3"


@pytest.mark.parametrize(
    ("path", "body"),
    [
        ("/receive/none", {"plates": 1}),
        ("/hold/none", {"because": "x"}),
        ("/release/none", None),
        ("/entries/999/take-back", {"note": "x"}),
    ],
)
def test_what_is_not_there_is_named(path, body):
    told = problem(a_program().post(path, body), 404, "not-there")
    assert path.split("/")[2] in told["detail"]
