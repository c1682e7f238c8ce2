"""The look's pages as the shop sends them, without a database: a browser's requests are answered
by Django's own test client and by its finders of static files.
"""

from pathlib import Path
from types import SimpleNamespace
from urllib.parse import urlsplit

from django.contrib.staticfiles import finders
from django.test import Client

ORIGIN = "http://shop.localhost"
ADDRESSES = "shop.look.addresses"
#: The same addresses with no room built yet but the page of parts.
BARE = "shop.look.bare"
MIDDLEWARE = [
    "combwright.shop.look.guard.content_security_policy",
    "shop.look.shown.somebody",
    "django.middleware.locale.LocaleMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
]
TYPES = {"css": "text/css", "js": "text/javascript", "svg": "image/svg+xml"}


class Somebody(SimpleNamespace):
    def __str__(self):
        return self.full_name


def somebody(get_response):
    """Let the request be from who the header X-Role says; from nobody without it."""

    def answer(request):
        role = request.headers.get("X-Role", "")
        request.user = Somebody(
            role=role, full_name="Ida Morrow", is_authenticated=bool(role), is_active=True
        )
        return get_response(request)

    return answer


def client(role="owner"):
    headers = {"X-Role": role} if role else {}
    return Client(headers=headers, raise_request_exception=False)


def answer_with(page, role="owner", sent=None):
    """Answer all requests of a browser's page; those that leave the shop fail loudly."""
    shop = client(role)

    def answer(route):
        request = route.request
        parts = urlsplit(request.url)
        if sent is not None:
            sent.append((request.method, request.url))
        if f"{parts.scheme}://{parts.netloc}" != ORIGIN:
            route.abort()
        elif parts.path.startswith("/static/"):
            name = parts.path.removeprefix("/static/")
            body = Path(finders.find(name)).read_bytes()
            route.fulfill(body=body, content_type=TYPES[name.rsplit(".", 1)[-1]])
        else:
            if request.method == "POST":
                kind = request.headers["content-type"]
                response = shop.post(request.url, request.post_data or "", content_type=kind)
            else:
                response = shop.get(f"{parts.path}?{parts.query}")
            headers = dict(response.headers.items())
            route.fulfill(status=response.status_code, headers=headers, body=response.content)

    page.route("**/*", answer)
