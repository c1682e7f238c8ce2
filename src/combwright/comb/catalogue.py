"""The catalogue: layouts under the trade's generic names, in C.

The notes stand in `catalogue.toml` beside this module and are read when first asked for.
"""

import tomllib
from collections.abc import Mapping
from difflib import get_close_matches
from functools import cache
from importlib.resources import files
from types import MappingProxyType
from typing import Any

from combwright.comb.changes import apply_changes, parse_changes
from combwright.comb.layouts import Layout, from_lists
from combwright.errors import CombwrightError
from combwright.notes.names import parse_midi


class NoSuchLayout(CombwrightError):
    """A name that no layout of the catalogue has."""

    def __init__(self, name: str, near: list[str]) -> None:
        hint = (
            f"did you mean {' or '.join(near)}?" if near else f"it has {', '.join(layout_ids())}."
        )
        super().__init__(f"There is no layout {name!r} in the catalogue; {hint}")


def layout_ids() -> tuple[str, ...]:
    """Return the ids of all layouts, the standard one first."""
    return tuple(_entries())


def aliases() -> Mapping[str, str]:
    """Return the other names of layouts, each with the id it stands for."""
    return MappingProxyType(
        {alias: name for name, entry in _entries().items() for alias in entry.get("aliases", ())}
    )


def catalogue_layout(name: str) -> Layout:
    """Return a layout in C by its id or an alias; case, spaces and underscores do not matter.

    Raises
    ------
    NoSuchLayout
        If the catalogue has none of that name; the nearest names are listed.
    """
    wanted = "-".join(name.lower().replace("_", " ").replace("-", " ").split())
    found = aliases().get(wanted, wanted)
    if found not in _entries():
        raise NoSuchLayout(name, get_close_matches(wanted, [*layout_ids(), *aliases()]))
    return _layout(found)


@cache
def _entries() -> Mapping[str, Mapping[str, Any]]:
    text = files("combwright.comb").joinpath("catalogue.toml").read_text("utf-8")
    return MappingProxyType({entry["id"]: entry for entry in tomllib.loads(text)["layout"]})


@cache
def _layout(name: str) -> Layout:
    entry = _entries()[name]
    title, about = entry["title"], " ".join(entry["about"].split())
    if "from" in entry:
        changed = apply_changes(_layout(entry["from"]), parse_changes(entry["changes"]))
        return Layout(title, changed.seats, holes=changed.holes, about=about)
    blow, draw = ([parse_midi(note) for note in entry[row].split()] for row in ("blow", "draw"))
    return from_lists(title, blow, draw, about=about)
