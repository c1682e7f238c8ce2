"""Which comb, which layout, which numbers are meant: looked up afresh each time, one query each.

Nothing is kept between two look-ups: with several servers on one shop a kept comb could be one that
somebody has changed since.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from difflib import get_close_matches
from typing import Final

from django.db.models import QuerySet
from django.utils.translation import gettext as _

from combwright.allocation.workshop import Workshop
from combwright.comb.catalogue import aliases, catalogue_layout, layout_ids
from combwright.comb.combs import Comb
from combwright.comb.default_comb import default_comb
from combwright.comb.layouts import Layout
from combwright.errors import CombwrightError
from combwright.files.combs import comb_toml, parse_comb
from combwright.files.layouts import layout_toml, parse_layout
from combwright.files.workshop import parse_workshop, workshop_toml
from combwright.shop.designs.models import Design, DesignVersion

#: The comb that comes with the program, and is the usual one until the shop names its own.
SHIPPED_COMB: Final = "ten-chamber"
WORKSHOP: Final = "workshop"


class NoSuchDesign(CombwrightError):
    """A comb or layout that neither the catalogue nor the shop has."""

    def __init__(self, name: str, known: list[str]) -> None:
        near = get_close_matches(tidy_code(name), known) or known
        super().__init__(
            _("There is no %(name)r in this shop; there is %(known)s.")
            % {"name": name, "known": ", ".join(near[:12])}
        )


@dataclass(frozen=True, slots=True)
class KnownLayout:
    """A layout that can be asked for by its code; `own` says that it is the shop's."""

    code: str
    layout: Layout
    own: bool


@dataclass(frozen=True, slots=True)
class KnownComb:
    """A comb that can be asked for by its code; `own` says that it is the shop's."""

    code: str
    comb: Comb
    own: bool
    usual: bool


def tidy_code(name: str) -> str:
    """Return a code as it is stored: case, spaces and underscores do not matter."""
    return "-".join(name.lower().replace("_", " ").replace("-", " ").split())


def usual_comb() -> Comb:
    """Return the comb that is meant where none is named: the shop's usual one, or the shipped."""
    toml = Design.objects.filter(usual=True).values_list("toml", flat=True).first()
    return default_comb() if toml is None else parse_comb(toml, name="comb.toml").value


def comb(code: str) -> Comb:
    """Return a comb by its code, one that was retired too.

    Raises
    ------
    NoSuchDesign
        If there is none.
    """
    wanted = tidy_code(code)
    toml = _toml(Design.COMB, wanted)
    if toml is not None:
        return parse_comb(toml, name=f"{wanted}.toml").value
    if wanted == SHIPPED_COMB:
        return default_comb()
    raise NoSuchDesign(code, [SHIPPED_COMB, *_codes(Design.COMB)])


def layout(code: str) -> Layout:
    """Return a layout in C by its code, one that was retired too, or one of the catalogue.

    An own layout cannot take a name of the catalogue. Should a later catalogue take the name of an
    own layout, the own one is still meant.

    Raises
    ------
    NoSuchDesign
        If there is none.
    """
    wanted = tidy_code(code)
    toml = _toml(Design.LAYOUT, wanted)
    if toml is not None:
        return parse_layout(toml, name=f"{wanted}.toml").value
    if wanted in layout_ids() or wanted in aliases():
        return catalogue_layout(wanted)
    raise NoSuchDesign(code, [*layout_ids(), *_codes(Design.LAYOUT)])


def layouts() -> tuple[KnownLayout, ...]:
    """Return the layouts in use: the shop's own by title, then the catalogue's; one query."""
    own = {
        code: KnownLayout(code, parse_layout(toml, name=f"{code}.toml").value, own=True)
        for code, toml in in_use(Design.LAYOUT).values_list("code", "toml")
    }
    shipped = (KnownLayout(code, catalogue_layout(code), own=False) for code in layout_ids())
    return (*own.values(), *(each for each in shipped if each.code not in own))


def combs() -> tuple[KnownComb, ...]:
    """Return the combs in use: the shop's own by title, then the one that is shipped; one query."""
    rows = list(in_use(Design.COMB).values_list("code", "toml", "usual"))
    own = [
        KnownComb(code, parse_comb(toml, name=f"{code}.toml").value, own=True, usual=usual)
        for code, toml, usual in rows
    ]
    shipped_is_usual = not any(each.usual for each in own)
    return (*own, KnownComb(SHIPPED_COMB, default_comb(), own=False, usual=shipped_is_usual))


def workshop() -> Workshop:
    """Return the workshop's numbers, the usual ones until the shop has written its own."""
    toml = _toml(Design.WORKSHOP, WORKSHOP)
    return Workshop() if toml is None else parse_workshop(toml, name="workshop.toml").value


def in_use(kind: str) -> QuerySet[Design]:
    """Return the shop's own designs of a kind that are not retired."""
    return Design.objects.filter(kind=kind, retired=False)


def own(kind: str, code: str) -> Design | None:
    """Return a design of the shop's own, with who changed it, or None."""
    found = Design.objects.select_related("changed_by")
    return found.filter(kind=kind, code=tidy_code(code)).first()


def text_of(kind: str, code: str) -> str:
    """Return the TOML text of a design, own or shipped.

    Raises
    ------
    NoSuchDesign
        If there is none.
    """
    toml = _toml(kind, tidy_code(code))
    if toml is not None:
        return toml
    if kind == Design.COMB:
        return comb_toml(comb(code))
    if kind == Design.LAYOUT:
        return layout_toml(layout(code))
    return workshop_toml(workshop())


def versions(design: Design) -> QuerySet[DesignVersion]:
    """Return a design's versions, the newest first, without their texts."""
    return design.versions.select_related("made_by").defer("toml")


def _toml(kind: str, code: str) -> str | None:
    return Design.objects.filter(kind=kind, code=code).values_list("toml", flat=True).first()


def _codes(kind: str) -> Iterator[str]:
    yield from in_use(kind).order_by("code").values_list("code", flat=True)
