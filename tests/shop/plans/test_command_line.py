"""The shop's plan and the command line's say the same of the same data."""

import csv
import json
import subprocess
import sys
from decimal import Decimal
from pathlib import Path

import pytest

from combwright.shop.designs import queries as designs
from combwright.shop.designs.models import Design
from combwright.shop.orders.models import Order
from combwright.shop.orders.states import State
from combwright.shop.plans import actions
from combwright.shop.rack.item_actions import NewItem, make_item
from combwright.shop.rack.models import Item
from shop.plans.days import a_plan, a_set, an_order
from shop.rack.shelves import somebody

pytestmark = pytest.mark.django_db


@pytest.fixture
def files(client, tmp_path):
    client.force_login(somebody())

    def written():
        for name, address in [
            ("rack.csv", "/rack/export/rack.csv"),
            ("parts.csv", "/rack/export/parts.csv"),
            ("orders.csv", "/orders/file/orders.csv"),
        ]:
            answer = client.get(address)
            assert answer.status_code == 200, address
            content = b"".join(answer.streaming_content) if answer.streaming else answer.content
            (tmp_path / name).write_bytes(content)
        (tmp_path / "workshop.toml").write_text(designs.text_of(Design.WORKSHOP, "workshop"))
        (tmp_path / "comb.toml").write_text(designs.text_of(Design.COMB, designs.SHIPPED_COMB))
        return tmp_path

    return written


def command_line(folder, *more):
    done = subprocess.run(
        [Path(sys.executable).with_name("combwright"), "plan", "rack.csv", "orders.csv", "--parts",
         "parts.csv", "--comb", "comb.toml", "--workshop", "workshop.toml", "--seconds", "20",
         "--json", *more],
        cwd=folder, capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)


def told(answer):
    return {
        "value": answer["value"],
        "bound": answer["value_bound"],
        "proven": answer["proven"],
        "cost": Decimal(str(answer["cost"])).quantize(Decimal("0.01")),
        "ready": {each["order"] for each in answer["orders"] if each["ready"]},
    }


def plates(answer):
    return {
        (order["order"], made["row"], made["copy"], seat["hole"], seat["deck"]): seat["bin"]
        for order in answer["orders"]
        for made in order["instruments"]
        for seat in made["seats"]
    }


def by_rows_of_the_file(answer, path):
    """Count rows as the command line does: in the file, its header being the first."""
    lines = list(csv.DictReader(path.read_text(encoding="utf-8-sig").splitlines()))
    first = {}
    for number, line in enumerate(lines, start=2):
        first.setdefault(line["order"], number)
    told = json.loads(json.dumps(answer))
    for order in told["orders"]:
        for made in (*order["instruments"], *order["plates"]):
            made["row"] += first[order["order"]] - 1
    return told


def a_shop():
    for key, many, cents in [("C", 4, -3), ("D", 3, 8), ("G", 2, 0)]:
        a_set(key, many, cents=cents, batch=f"batch-{key}")
    for part, many in [("comb", 7), ("cover", 40), ("screw", 400), ("gasket", 400)]:
        new = NewItem(part, Item.PART, part=part, cost=Decimal("0.35"))
        make_item(somebody(), new, came=many)
    an_order("W-1", key="C", value=31)
    an_order("W-2", key="C", value=17, quantity=2)
    an_order("W-3", key="D", value=23, kit="5 draw", promised=True)
    an_order("W-4", key="D", value=11, layout="natural-minor")
    an_order("W-5", key="G", value=13, priority=1)
    an_order("W-6", key="C", value=7, quantity=3)
    an_order("W-7", key="A", value=5)


def test_the_same_data_give_the_same_plan(files):
    a_shop()
    made = a_plan()
    said = command_line(files())
    assert told(said) == told(made.answer)
    assert 0 < len(told(said)["ready"]) < 7


def test_the_same_data_with_plates_set_aside_give_the_same_plan(files):
    a_shop()
    earlier = actions.set_aside(somebody(), a_plan())
    before = plates(earlier.answer)
    a_set("C", 2, batch="batch-C2", cents=-1)
    an_order("W-8", key="C", value=29)
    made = a_plan()
    folder = files()
    kept = by_rows_of_the_file(earlier.answer, folder / "orders.csv")
    (folder / "earlier.json").write_text(json.dumps(kept))
    said = command_line(folder, "--keep", "earlier.json")
    assert told(said) == told(made.answer)
    assert Order.objects.filter(state=State.ASIDE).count() == earlier.ready
    assert plates(said) == plates(by_rows_of_the_file(made.answer, folder / "orders.csv"))
    ready = {seat[0] for seat in plates(made.answer)}
    before = {seat: plate for seat, plate in before.items() if seat[0] in ready}
    assert before.items() <= plates(made.answer).items()
    assert len(before) == 6 * 20
