"""Where the pages of a design are; the workshop's numbers need no code."""

from collections.abc import Mapping
from typing import Final

from django.urls import reverse

from combwright.shop.designs.models import Design

_OF_ALL: Final = ("edit", "toml", "replace", "versions")
_OF_CODED: Final = ("retire", "use")


def address(kind: str, code: str, page: str = "", *more: object) -> str:
    """Return the address of a design's page; without a page's name, of the design itself."""
    name = f"designs:{kind}-{page}" if page else f"designs:{kind}"
    return reverse(name, args=[*([] if kind == Design.WORKSHOP else [code]), *more])


def links(kind: str, code: str) -> Mapping[str, str]:
    """Return the addresses of all pages of a design, by their names."""
    found = {"look": address(kind, code)} | {page: address(kind, code, page) for page in _OF_ALL}
    if kind == Design.WORKSHOP:
        return found
    found |= {page: address(kind, code, page) for page in _OF_CODED}
    found["copy"] = f"{reverse(f'designs:{kind}-new')}?from={code}"
    if kind == Design.COMB:
        found["usual"] = address(kind, code, "usual")
    return found
