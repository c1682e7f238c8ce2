"""Addresses of other rooms' pages; a room that is not built in has none."""

from django.urls import NoReverseMatch, reverse
from django.utils.http import urlencode


def way(name: str, *given: object, **asked: str) -> str:
    """Return the address of a page, of one thing if the page takes it; empty if there is none."""
    for arguments in (given, ()) if given else ((),):
        try:
            return reverse(name, args=arguments) + ("?" + urlencode(asked) if asked else "")
        except NoReverseMatch:
            continue
    return ""
