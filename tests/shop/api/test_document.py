"""The document and its page say what the code does, and nobody but those let in may read them."""

import html
import json
import re
import shlex

import pytest
from django.test import Client

from combwright.shop.api.document import openapi
from combwright.shop.api.forms import scopes_in_use
from combwright.shop.people.roles import May
from combwright.shop.rack.actions import receive
from combwright.shop.rack.item_actions import NewItem, make_item
from shop.api.programs import Program, a_token, problem, somebody
from shop.api.whole_orders import an_order_on_the_bench
from shop.rack.shelves import a_bin

pytestmark = pytest.mark.django_db


def operations():
    return [
        (method, path, told)
        for path, methods in openapi()["paths"].items()
        for method, told in methods.items()
    ]


def test_the_document_is_sent_to_those_who_are_in_and_to_tokens(client):
    problem(Client().get("/api/openapi.json"), 401, "no-token")
    problem(Program("cw_x").client.get("/api/openapi.json"), 401, "no-token")
    headers = {"Authorization": f"Bearer {a_token()[1]}"}
    assert client.get("/api/openapi.json", headers=headers).json() == openapi()
    client.force_login(somebody("packer"))
    assert client.get("/api/openapi.json").json() == openapi()


def test_every_write_wants_a_key_and_every_operation_tells_its_problems():
    for method, path, told in operations():
        headers = [each for each in told["parameters"] if each["in"] == "header"]
        assert [each["name"] for each in headers] == (
            ["Idempotency-Key"] if method == "post" else []
        ), path
        assert all(each["required"] for each in headers)
        assert {"400", "401", "403", "406", "422", "429", "500", "503"} <= set(told["responses"])
        assert ("409" in told["responses"]) == (method == "post")
        assert ("404" in told["responses"]) == ("{" in path)
        assert told["description"].endswith(".")


def test_names_of_operations_are_unique():
    names = [told["operationId"] for _method, _path, told in operations()]
    assert len(set(names)) == len(names)


def test_scopes_are_rights_and_a_token_can_be_made_for_each():
    assert scopes_in_use() <= {each.name.lower() for each in May}
    assert {"look", "receive", "count", "take", "correct", "hold", "arrange"} <= scopes_in_use()


def test_every_operation_is_on_the_page_and_the_page_loads_nothing_from_elsewhere(client):
    client.force_login(somebody("office"))
    page = client.get("/api/").content.decode()
    for method, path, told in operations():
        assert f'id="{told["operationId"]}"' in page
        assert f"<code>{method.upper()}</code>" in page
        assert path in page
    assert re.findall(r'(?:src|href)="(?:https?:)?//[^"]*"', page) == []


def test_the_lines_to_try_do_what_they_say(client):
    client.force_login(somebody("office"))
    page = client.get("/api/").content.decode()
    lines = [
        html.unescape(each).replace("\\\n", " ")
        for each in re.findall(r'<pre class="typed" tabindex="0">(curl .*?)</pre>', page, re.DOTALL)
    ]
    assert len(lines) == len(operations())
    here = a_bin("A-01-1", 5, batch="b7")
    a_bin("A-01-1b", 0, batch="b7")
    make_item(somebody(), NewItem("SET-A", "set", key="A", layout="standard", batch="b7"), came=3)
    token = a_token()[1]
    first = receive(somebody(), here, 1).pk
    there = an_order_on_the_bench()
    for n, line in enumerate(lines):
        method, address, headers, body = read_curl(line, token, f"key-{n}")
        address = address.replace("/entries/1", f"/entries/{first}")
        address = address.replace("/plans/1", f"/plans/{there['plan']}")
        address = address.replace("/instruments/00001", f"/instruments/{there['serial']}")
        answer = Client().generic(
            method, address.removeprefix("http://testserver"), body, headers=headers,
            content_type=headers.pop("Content-Type", "application/octet-stream"),
        )  # fmt: skip
        assert answer.status_code in (200, 201), (line, answer.content)


def read_curl(line, token, key):
    """Return what curl would send, read as the shell and curl read it."""
    words = shlex.split(line.replace("$TOKEN", token).replace("$(uuidgen)", key))
    assert words.pop(0) == "curl"
    method, headers, body = "GET", {}, ""
    while len(words) > 1:
        option, value = words.pop(0), words.pop(0)
        if option == "-H":
            name, _colon, text = value.partition(": ")
            headers[name] = text
        elif option == "-d":
            method, body = "POST", value
        else:
            assert option == "-X"
            method = value
    return method, words[0], headers, body


def test_examples_of_bodies_are_what_their_schemas_allow():
    schemas = openapi()["components"]["schemas"]
    for _method, path, told in operations():
        if "requestBody" not in told:
            continue
        schema = told["requestBody"]["content"]["application/json"]["schema"]
        named = schemas[schema["$ref"].rsplit("/", 1)[-1]]
        (example,) = named["examples"]
        assert set(named["required"]) <= set(example) <= set(named["properties"]), path
        assert named["additionalProperties"] is False
        json.dumps(example)
