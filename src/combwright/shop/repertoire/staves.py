"""Tabs under engraved staves: the seam to the sheets that engrave them."""

from collections.abc import Sequence
from typing import Final

from combwright.playing.tabbing import Tab

#: Whether pages show a picture of the staff.
ENGRAVED: Final = False


def staff_svg(_found: Tab) -> str | None:
    """Return a tab under its engraved staff, None where it cannot be engraved."""
    return None


def tabs_pdf(_tabs: Sequence[Tab]) -> bytes:
    """Return tabs under their staves, one tune after the other."""
    raise NotImplementedError
