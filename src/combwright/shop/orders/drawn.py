"""Wishes as pictures and in words; the layouts and combs of a page are asked for at once."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final, cast

from django.utils.safestring import SafeString
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from combwright.comb.catalogue import aliases, catalogue_layout, layout_ids
from combwright.comb.changes import parse_changes, parse_kit
from combwright.comb.combs import Comb
from combwright.comb.default_comb import default_comb
from combwright.comb.layouts import Layout
from combwright.errors import CombwrightError
from combwright.files.combs import parse_comb
from combwright.files.layouts import parse_layout
from combwright.files.wishes import What, sounding, title_of
from combwright.files.wishes import Wish as ReadWish
from combwright.notes.keys import parse_key
from combwright.notes.pitch import check_a4
from combwright.notes.temperament import named_temperament
from combwright.shop.designs import drawings
from combwright.shop.designs.models import Design
from combwright.shop.designs.queries import SHIPPED_COMB, NoSuchDesign, tidy_code, usual_comb
from combwright.shop.orders.models import Wish

#: Of one order's wishes so many are drawn; the others are told in words.
MOST_DRAWN: Final = 12


@dataclass(frozen=True, slots=True)
class Shown:
    """A wish as a page shows it.

    Parameters
    ----------
    wish : Wish
        The row.
    title : str
        In a line, such as `Key of A, third blow raised`.
    layout : Layout or None
        As it sounds; None where it cannot be read, or for loose plates.
    drawing : SafeString or None
        The instrument, drawn.
    fault : str
        Why it cannot be read.
    """

    wish: Wish
    title: str
    layout: Layout | None = None
    drawing: SafeString | None = None
    fault: str = ""

    @property
    def notes(self) -> tuple[str, str]:
        """The notes of each breath, hole by hole."""
        return drawings.notes_of(self.layout) if self.layout else ("", "")


class Drawer:
    """Reads and draws some wishes; three queries, however many there are.

    Parameters
    ----------
    wishes : sequence of Wish
        All that will be asked for.
    """

    def __init__(self, wishes: Sequence[Wish]) -> None:
        self._layouts = _own(Design.LAYOUT, (each.layout for each in wishes))
        self._combs = _own(Design.COMB, (each.comb for each in wishes if each.comb))
        self._usual = usual_comb()

    def shown(self, wish: Wish, *, small: bool = True, drawn: bool = True) -> Shown:
        """Return a wish in words, and drawn if it is an instrument."""
        try:
            read = self.read(wish)
            layout, title = sounding(read), title_of(read)
        except CombwrightError as error:
            return Shown(wish, f"{wish.key} {wish.layout}", fault=str(error))
        if wish.what != Wish.INSTRUMENT or not drawn:
            return Shown(wish, title, layout if wish.what == Wish.INSTRUMENT else None)
        comb = drawings.comb_for(layout, read.comb)
        return Shown(wish, title, layout, drawings.drawn_layout(layout, comb, small=small))

    def read(self, wish: Wish) -> ReadWish:
        """Return a wish with all its parts read.

        Raises
        ------
        CombwrightError
            If one of them cannot be read.
        """
        return ReadWish(
            key=parse_key(wish.key),
            layout=self._layout(wish.layout),
            comb=self._comb(wish.comb),
            what=cast("What", wish.what),
            changes=parse_changes(wish.changes),
            kit=parse_kit(wish.kit),
            temperament=named_temperament(wish.temperament),
            a4_hz=check_a4(float(wish.a4)),
        )

    def _layout(self, code: str) -> Layout:
        toml = self._layouts.get(tidy_code(code))
        if toml is not None:
            return parse_layout(toml, name=f"{code}.toml").value
        if tidy_code(code) in {*layout_ids(), *aliases()}:
            return catalogue_layout(code)
        raise NoSuchDesign(code, [*layout_ids()])

    def _comb(self, code: str) -> Comb:
        toml = self._combs.get(tidy_code(code))
        if toml is not None:
            return parse_comb(toml, name=f"{code}.toml").value
        if not code:
            return self._usual
        if tidy_code(code) == SHIPPED_COMB:
            return default_comb()
        raise NoSuchDesign(code, [SHIPPED_COMB])


def all_shown(wishes: Sequence[Wish]) -> list[Shown]:
    """Return an order's wishes for its page, the first of them drawn."""
    drawer = Drawer(wishes)
    return [
        drawer.shown(wish, drawn=place < MOST_DRAWN) for place, wish in enumerate(wishes)
    ]  # fmt: skip


def in_few_words(wishes: Sequence[Wish]) -> str:
    """Return what an order holds in a line for a list, as it is written, without reading it."""
    if not wishes:
        return _("nothing yet")
    first = wishes[0]
    what = f"{first.key} {first.layout}"
    words = what if first.what == Wish.INSTRUMENT else _("plates for %s") % what
    if first.quantity > 1:
        words = f"{first.quantity} × {words}"
    if len(wishes) > 1:
        more = len(wishes) - 1
        words = ngettext(
            "%(first)s, and %(n)d row more", "%(first)s, and %(n)d rows more", more
        ) % {"first": words, "n": more}
    return words


def _own(kind: str, codes: Iterable[str]) -> Mapping[str, str]:
    wanted = {tidy_code(code) for code in codes}
    found = Design.objects.filter(kind=kind, code__in=wanted)
    return dict(found.values_list("code", "toml"))
