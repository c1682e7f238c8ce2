"""Sets, donors and parts, as a program sees, receives and opens them."""

import pytest

from combwright.shop.rack.item_queries import item_faults
from combwright.shop.rack.models import Bin, Item
from combwright.shop.rack.queries import ledger_faults
from shop.api.programs import a_program, problem

pytestmark = [pytest.mark.django_db, pytest.mark.data]
SET = {"item": "SET-C", "kind": "set", "key": "C", "layout": "standard", "batch": "b7", "came": 2}
PART = {"item": "GASKET", "kind": "part", "part": "gasket", "cost": "0.15"}


def test_a_set_is_made_known_received_counted_and_scrapped():
    program = a_program()
    made = program.post("/items", SET).json()
    assert (made["item"], made["count"], made["batch"], made["cost"]) == ("SET-C", 2, "b7", "0.00")
    entry = program.post("/receive-items/SET-C", {"many": 3}).json()
    assert (entry["lines"], entry["items"]) == ([], [{"item": "SET-C", "change": 3, "after": 5}])
    program.post("/scrap-items/SET-C", {"many": 1, "note": "crushed"})
    assert program.post("/count-items/SET-C", {"found": 4}).json()["items"][0]["change"] == 0
    assert program.get("/items/SET-C").json()["count"] == 4
    told = problem(program.post("/scrap-items/SET-C", {"many": 5, "note": "x"}), 409, "refused")
    assert "there are 4" in told["detail"]
    assert list(item_faults()) == []


def test_the_list_of_the_stores_is_narrowed_and_read_in_parts():
    program = a_program()
    program.post("/items", SET)
    program.post("/items", PART)

    def found(**asked):
        return [each["item"] for each in program.get("/items", asked).json()["items"]]

    assert found() == ["GASKET", "SET-C"]
    assert found(kind="part") == found(text="gask") == ["GASKET"]
    assert found(there="true") == ["SET-C"]
    part = program.get("/items", {"limit": 1}).json()
    assert part["next"] == "GASKET"
    assert found(after=part["next"]) == ["SET-C"]


def test_a_set_is_opened_into_bins_in_one_entry():
    program = a_program("maker")
    a_program("office").post("/items", SET)
    proposed = program.get("/opening/SET-C", {"place": "A-08"}).json()["plates"]
    assert len(proposed) == 20
    proposed[0]["lost"] = True
    entry = program.post("/open/SET-C", {"place": "A-08", "plates": proposed}).json()
    assert [line["change"] for line in entry["lines"]] == [1] * 19
    assert entry["items"] == [{"item": "SET-C", "change": -1, "after": 1}]
    assert "1 plate lost: 1 blow" in entry["note"]
    assert program.post("/open/SET-C", {"place": "A-08"}).status_code == 201
    assert Item.objects.get().count == 0
    assert sum(Bin.objects.values_list("count", flat=True)) == 39
    told = problem(program.post("/open/SET-C", {"place": "A-08"}), 409, "refused")
    assert "no SET-C left" in told["detail"]
    assert [*ledger_faults(), *item_faults()] == []


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"layout": "no-such"}, "no-such"),
        ({"key": None}, "needs a key"),
        ({"kind": "part", "part": "comb"}, "A part has no key"),
        ({"item": "x/open"}, "cannot be a name"),
    ],
)
def test_what_is_no_item_is_refused(change, says):
    told = problem(a_program().post("/items", SET | change), 409, "refused")
    assert says in told["detail"]
    assert not Item.objects.exists()


def test_a_part_holds_no_plates_and_what_is_not_there_is_named():
    program = a_program()
    program.post("/items", PART)
    told = problem(program.get("/opening/GASKET", {"place": "A"}), 404, "not-there")
    assert "is a part" in told["detail"]
    problem(program.post("/open/GASKET", {"place": "A"}), 404, "not-there")
    assert "'NONE'" in problem(program.get("/items/NONE"), 404, "not-there")["detail"]
