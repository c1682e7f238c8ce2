"""What the API's tests begin with: somebody's token, and a program that asks with it."""

import json
from datetime import timedelta
from itertools import count

from django.test import Client
from django.utils import timezone

from combwright.shop.api.actions import make_token
from combwright.shop.api.forms import scopes_in_use
from combwright.shop.people.models import Person

PROBLEM = "application/problem+json"
_KEYS = count(1)


def somebody(role="owner", name=None):
    name = name or role
    known = Person.objects.filter(name=name).first()
    return known or Person.objects.join(name, name.title(), role, None)


def a_token(person=None, scopes=None, days=30):
    """Return a token's row and the token itself."""
    until = timezone.now() + timedelta(days=days)
    wanted = scopes_in_use() if scopes is None else scopes
    return make_token(person or somebody(), "script", wanted, until)


class Program:
    """Asks the shop over HTTP, with a token, and a new key for each write unless one is given."""

    def __init__(self, token="", **more):
        self.client = Client(raise_request_exception=False)
        self.headers = {"Authorization": f"Bearer {token}"} if token else {}
        self.more = more

    def get(self, path, asked=None, headers=None):
        return self.client.get(
            "/api/v1" + path, asked, headers=self.headers | (headers or {}), **self.more
        )

    def post(self, path, body=None, key=None, headers=None):
        key = {"Idempotency-Key": key or f"k{next(_KEYS)}"} if key != "" else {}
        sent = b"" if body is None else body if isinstance(body, bytes) else json.dumps(body)
        return self.client.post(
            "/api/v1" + path,
            sent,
            content_type="application/json",
            headers=self.headers | key | (headers or {}),
            **self.more,
        )


def a_program(role="owner", scopes=None):
    return Program(a_token(somebody(role), scopes)[1])


def problem(response, status, name):
    """Return a problem document, after looking at its form."""
    told = response.json()
    assert response.status_code == status, told
    assert response.headers["Content-Type"] == PROBLEM
    assert response.headers["Cache-Control"] == "no-store"
    assert told["type"] == f"/api/problems/#{name}"
    assert told["status"] == status
    assert told["title"]
    assert told["detail"]
    assert "\n" not in told["detail"]
    assert told["instance"].startswith("urn:uuid:")
    return told
