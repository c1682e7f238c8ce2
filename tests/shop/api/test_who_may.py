"""The whole table: every operation of the document, every role, with and without its scope."""

import pytest

from combwright.shop.api.document import SCHEME, openapi
from combwright.shop.api.models import Answered
from combwright.shop.orders.models import Customer, Order, Step
from combwright.shop.people.roles import May, Role, allowed
from combwright.shop.rack.item_actions import NewItem, make_item
from combwright.shop.rack.models import Batch, Bin, Entry, Item
from shop.api.programs import Program, a_token, problem, somebody
from shop.api.whole_orders import an_order_on_the_bench
from shop.rack.shelves import a_bin

pytestmark = pytest.mark.django_db
OPERATIONS = [
    (method, path, told)
    for path, methods in openapi()["paths"].items()
    for method, told in methods.items()
]
NAMED = {"bin": "A-01-1", "batch": "b7", "layout": "standard", "item": "SET-A"}
ON_ITS_WAY = ("{order}", "{plan}", "{serial}")
ALL_SCOPES = {each.name.lower() for each in May}


def shop(path):
    """Make what an address is about; an order on the bench takes its time to make."""
    here = a_bin("A-01-1", 9, batch="b7")
    a_bin("A-01-1b", 1, batch="b7")
    make_item(somebody(), NewItem("SET-A", "set", key="A", layout="standard", batch="b7"), came=3)
    on_its_way = an_order_on_the_bench() if any(each in path for each in ON_ITS_WAY) else {}
    return {"entry": str(here.lines.get().entry_id)} | on_its_way


def ask(program, method, path, told, there):
    for name, value in (NAMED | there).items():
        path = path.replace("{" + name + "}", value)
    path = path.removeprefix("/api/v1")
    if method == "get":
        wanted = {"key": "C", "batch": "b7", "place": "A-07"}
        asked = {
            each["name"]: wanted[each["name"]]
            for each in told["parameters"]
            if each["in"] == "query" and each["required"]
        }
        return program.get(path, asked)
    body = None
    if "requestBody" in told:
        schema = told["requestBody"]["content"]["application/json"]["schema"]["$ref"]
        body = openapi()["components"]["schemas"][schema.rsplit("/", 1)[-1]]["examples"][0]
    return program.post(path, body)


def everything():
    models = (Bin, Batch, Item, Entry, Answered, Customer, Order, Step)
    rows = (model.objects.order_by("pk").values() for model in models)
    return [list(each) for each in rows]


def may_of(told):
    scopes = told["security"][0][SCHEME]
    return May[scopes[0].upper()] if scopes else None


@pytest.mark.parametrize("role", list(Role))
@pytest.mark.parametrize(
    ("method", "path", "told"), OPERATIONS, ids=[told["operationId"] for *_, told in OPERATIONS]
)
class TestTheTable:
    def test_with_the_scope_alone_the_role_decides(self, method, path, told, role):
        there, needed = shop(path), may_of(told)
        only = {needed.name.lower()} if needed else set()
        program, before = Program(a_token(somebody(role, "acting"), only)[1]), everything()
        answer = ask(program, method, path, told, there)
        if needed is None or allowed(role, needed):
            assert answer.status_code in (200, 201), answer.json()
        else:
            assert "role" in problem(answer, 403, "not-allowed")["detail"]
            assert everything() == before

    def test_without_the_scope_nobody_may(self, method, path, told, role):
        there, needed = shop(path), may_of(told)
        others = ALL_SCOPES - ({needed.name.lower()} if needed else set())
        program, before = Program(a_token(somebody(role, "acting"), others)[1]), everything()
        answer = ask(program, method, path, told, there)
        if needed is None:
            assert answer.status_code == 200
        else:
            detail = problem(answer, 403, "not-allowed")["detail"]
            assert f"without the scope {needed.name.lower()}" in detail
            assert everything() == before


@pytest.mark.parametrize(("method", "path", "told"), OPERATIONS)
def test_without_a_token_nothing_is_told_and_nothing_done(method, path, told, client):
    there = shop(path)
    before = everything()
    problem(ask(Program(), method, path, told, there), 401, "no-token")
    problem(ask(Program("cw_x"), method, path, told, there), 401, "no-token")
    logged_in = Program()
    logged_in.client.force_login(somebody())
    problem(ask(logged_in, method, path, told, there), 401, "no-token")
    assert everything() == before
