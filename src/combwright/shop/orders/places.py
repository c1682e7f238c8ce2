"""Where the pages of orders are, and which numbers an order may have so that it has a page.

A number may hold slashes, as `W-0017/2` does. So the words that begin other addresses of this room
begin no number.
"""

from typing import Final

from django.utils.translation import gettext as _

from combwright.errors import CombwrightError
from combwright.files.cells import LONGEST_NAME
from combwright.shop.orders.models import Order

#: The first parts of this room's other addresses.
TAKEN_WORDS: Final = frozenset(
    {
        "change", "compare", "copy", "customers", "draft", "file", "new", "nicknames", "open",
        "row", "rows", "share", "shared", "shares", "split", "wish", "wishes",
    }
)  # fmt: skip
_LONGEST: Final = min(LONGEST_NAME, Order._meta.get_field("number").max_length or LONGEST_NAME)


class BadNumber(CombwrightError):
    """An order's number that no page could be found by."""


def check_number(number: str) -> str:
    """Return an order's number unchanged if it can be the address of a page and stand in a file.

    Raises
    ------
    BadNumber
        If it cannot; it says why.
    """
    parts = number.split("/")
    said = {"number": number, "most": _LONGEST, "first": parts[0]}
    if number != number.strip() or not number.isprintable() or not number:
        raise BadNumber(
            _("%(number)r is no number for an order: write visible characters, none at the ends "
              "being a blank.") % said
        )  # fmt: skip
    if len(number) > _LONGEST:
        raise BadNumber(_("%(number)r is too long: %(most)d characters are the most.") % said)
    if any(part in ("", ".", "..") for part in parts):
        raise BadNumber(
            _("%(number)r is no number for an order: between slashes there must be something, "
              "and not only dots.") % said
        )  # fmt: skip
    if (len(parts) > 1 and parts[0].lower() in TAKEN_WORDS) or number.lower() in TAKEN_WORDS:
        raise BadNumber(
            _("%(number)r is no number for an order: %(first)s begins another page's address.")
            % said
        )
    return number
