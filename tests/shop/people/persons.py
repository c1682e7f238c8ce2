"""What the people's tests begin with: somebody, a browser of theirs, and a page's text."""

import html
import re

from django.test import Client

from combwright.shop.people.models import Person

PASSWORD = "nine brass rivets"


def somebody(role="owner", name=None, password=PASSWORD):
    return Person.objects.join(name or role, (name or role).title(), role, password)


def browser_of(person, **options):
    """Return a client that logged in through the page, as a browser does."""
    client = Client(**options)
    answer = client.post("/people/login/", {"name": person.name, "password": PASSWORD})
    assert answer.status_code == 302, answer.content
    return client


def is_in(client):
    return client.get("/people/me/").status_code == 200


def text(response):
    """Return what a page says, without its tags."""
    bare = re.sub(r"<[^>]*>", " ", response.content.decode())
    return " ".join(html.unescape(bare).split())


def log_in(client, name, password, **more):
    return client.post("/people/login/", {"name": name, "password": password}, **more)
