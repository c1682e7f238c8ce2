"""What a TOML text says, judged by the readers of the makers' files; the text itself is kept."""

import tomllib
from dataclasses import dataclass

from django.utils.translation import gettext as _

from combwright.allocation.workshop import Workshop
from combwright.comb.combs import Comb
from combwright.comb.layouts import Layout
from combwright.files.combs import comb_toml, parse_comb
from combwright.files.layouts import layout_toml, parse_layout
from combwright.files.results import BadTable, Read
from combwright.files.settings import toml_text
from combwright.files.workshop import parse_workshop, workshop_toml
from combwright.shop.designs.models import Design

Value = Comb | Layout | Workshop


@dataclass(frozen=True, slots=True)
class Said:
    """A text that reads well: what it says, and what is odd about it without being wrong."""

    text: str
    value: Value
    warnings: tuple[str, ...] = ()

    @property
    def title(self) -> str:
        """What the design is called; the workshop's numbers have no title of their own."""
        return "" if isinstance(self.value, Workshop) else self.value.title


def read(kind: str, text: str, *, name: str) -> Said:
    """Read a text; one without a title is called as its file is, which is written into it.

    Parameters
    ----------
    kind : str
        One of `Design.KINDS`.
    text : str
        TOML.
    name : str
        The file's name; it stands before every problem.

    Raises
    ------
    BadFile, BadTable
        If it is no TOML, or anything in it is wrong: one line for each problem.
    """
    found = parse(kind, text, name=name)
    if isinstance(found.value, Workshop):
        return Said(text, found.value, found.warnings)
    titled = tomllib.loads(text).get("title")
    if titled is None:
        text = f"title = {toml_text(found.value.title)}\n{text}"
        found = parse(kind, text, name=name)
    elif not titled.strip():
        raise BadTable(_("%(file)s: title: is empty; write what it is called.") % {"file": name})
    return Said(text, found.value, found.warnings)


def parse(kind: str, text: str, *, name: str) -> Read[Comb] | Read[Layout] | Read[Workshop]:
    """Read a text of a kind as the readers of files do."""
    if kind == Design.COMB:
        return parse_comb(text, name=name)
    if kind == Design.LAYOUT:
        return parse_layout(text, name=name)
    return parse_workshop(text, name=name)


def written(value: Value) -> str:
    """Write a comb, a layout or the workshop's numbers as the text of its file."""
    if isinstance(value, Comb):
        return comb_toml(value)
    if isinstance(value, Layout):
        return layout_toml(value)
    return workshop_toml(value)
