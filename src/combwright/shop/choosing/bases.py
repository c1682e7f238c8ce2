"""What reeds are swapped in: a layout in a key, or an instrument that a customer has."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from django.utils.translation import gettext as _

from combwright.comb.changes import apply_changes
from combwright.comb.layouts import Layout
from combwright.notes.keys import parse_key
from combwright.shop.choosing.actions import NotSo
from combwright.shop.choosing.candidates import own_instruments
from combwright.shop.designs import queries as designs
from combwright.shop.orders.reading import Reader
from combwright.shop.repertoire.models import Repertoire


@dataclass(frozen=True, slots=True)
class Base:
    """An instrument whose reeds are swapped.

    Parameters
    ----------
    code, title : str
        Its layout.
    key, changes : str
        As a wish says them.
    serial : str
        Of the customer's own; else empty.
    plain, sounding : Layout
        In its key, without its changes and with them.
    """

    code: str
    title: str
    key: str
    changes: str
    serial: str
    plain: Layout
    sounding: Layout

    @property
    def pitch_class(self) -> int:
        """The key's root."""
        return parse_key(self.key).pitch_class

    @property
    def told(self) -> dict[str, str]:
        """What an answer keeps of it."""
        return {
            "layout": self.code, "title": self.title, "key": self.key, "changes": self.changes,
            "serial": self.serial,
        }  # fmt: skip


def base_of(repertoire: Repertoire, asked: Mapping[str, Any]) -> Base:
    """Return the instrument that a question about swaps names.

    Raises
    ------
    NotSo
        If the customer does not have it any more.
    CombwrightError
        If it can no longer be read.
    """
    if asked["serial"]:
        return _own(repertoire, asked["serial"])
    layout = designs.layout(asked["layout"])
    plain = layout.in_key(parse_key(asked["key"]))
    return Base(asked["layout"], layout.title, asked["key"], "", "", plain, plain)


def _own(repertoire: Repertoire, serial: str) -> Base:
    found = {each.serial: each for each in own_instruments(repertoire)}
    if serial not in found:
        raise NotSo(_("%s is not theirs any more; choose another instrument.") % serial)
    row, reader = found[serial].wish, Reader()
    layout = reader.layout(row.layout)
    plain = layout.in_key(parse_key(row.key))
    sounding = apply_changes(plain, reader.changes(row.changes))
    return Base(row.layout, layout.title, row.key, row.changes, serial, plain, sounding)
