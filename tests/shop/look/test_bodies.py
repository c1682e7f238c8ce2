"""What is too large is turned away before it is kept, with its length said or not."""

import asyncio

import pytest
from django.test import Client, override_settings

from combwright.shop.look.bodies import bounded

MIDDLEWARE = [
    "combwright.shop.look.guard.content_security_policy",
    "shop.look.shown.somebody",
    "combwright.shop.look.bodies.not_too_large",
]
MOST = 1000


def sent(body, *, said=None, part=100):
    """Send a body in parts through the gate; return what came behind it, and how much was read."""
    parts = [body[at : at + part] for at in range(0, len(body), part)] or [b""]
    messages = [
        {"type": "http.request", "body": some, "more_body": n < len(parts)}
        for n, some in enumerate(parts, start=1)
    ]
    left, came, marked = iter(messages), [], []
    read = 0

    async def receive():
        nonlocal read
        message = next(left)
        read += len(message["body"])
        return message

    async def behind(scope, receive, send):
        more = True
        while more:
            message = await receive()
            came.append(message["body"])
            more = message["more_body"]
        marked.append("combwright.too_large" in scope)

    headers = [] if said is None else [(b"content-length", str(said).encode())]
    scope = {"type": "http", "headers": headers}
    asyncio.run(bounded(behind, MOST)(scope, receive, None))
    return b"".join(came), marked == [True], read


@pytest.mark.parametrize("said", [None, 0, MOST, "nonsense"])
def test_what_is_not_too_large_goes_through_as_it_is(said):
    body = bytes(range(250)) * 4
    assert sent(body, said=said) == (body, False, MOST)
    assert sent(b"", said=said) == (b"", False, 0)


@pytest.mark.parametrize("said", [None, 10, MOST + 1, 10**12])
def test_what_is_too_large_is_cut_short_and_marked_whatever_length_is_said(said):
    came, marked, read = sent(b"x" * (MOST + 1), said=said)
    assert marked
    assert len(came) <= MOST
    assert read == MOST + 1  # a browser hears only when it has said everything


def test_what_is_far_too_large_is_not_listened_to_for_ever():
    came, marked, read = sent(b"x" * 100_000)
    assert marked
    assert len(came) <= MOST
    assert read <= 4 * MOST + 100


def test_a_length_that_is_said_to_be_too_large_is_enough():
    came, marked, _read = sent(b"x" * 10, said=MOST + 1)
    assert (came, marked) == (b"", True)


def test_other_than_requests_go_straight_on():
    seen = []

    async def behind(scope, receive, send):
        seen.append((scope, receive, send))

    given = ({"type": "lifespan"}, object(), object())
    asyncio.run(bounded(behind, MOST)(*given))
    assert seen == [given]


@pytest.mark.parametrize("role", ["owner", ""])
def test_people_get_a_page_that_says_the_most(role, settings):
    settings.MOST_BODY = 3 * 2**20
    with override_settings(MIDDLEWARE=MIDDLEWARE):
        client = Client(headers={"X-Role": role})
        page = client.post("/look/parts/", b"x" * (settings.MOST_BODY + 1), "text/plain")
    assert page.status_code == 413
    said = page.content.decode()
    assert "larger than 3 MiB, the most; send it in parts." in said
    assert "Nothing was changed." in said


def test_programs_get_a_problem_document(settings):
    settings.MOST_BODY = 3 * 2**20
    with override_settings(MIDDLEWARE=MIDDLEWARE):
        answer = Client().post("/api/bins/", b"x" * (settings.MOST_BODY + 1), "application/json")
    assert (answer.status_code, answer["Content-Type"]) == (413, "application/problem+json")
    assert answer.json()["title"] == "Too large"


def test_what_is_as_large_as_the_most_is_not_turned_away(settings):
    settings.MOST_BODY = 1000
    with override_settings(MIDDLEWARE=MIDDLEWARE):
        assert Client().post("/nothing/", b"x" * 1000, "text/plain").status_code == 404
