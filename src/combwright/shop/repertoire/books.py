"""What stands in a book of tab: every tune of a repertoire worked out for one instrument."""

from collections.abc import Callable

from django.utils.translation import gettext as _

from combwright.comb.reach import sounds
from combwright.playing.costs import preset
from combwright.playing.tabbing import tab
from combwright.shop.repertoire import staves
from combwright.shop.repertoire.models import TabBook
from combwright.shop.repertoire.queries import tunes_of
from combwright.shop.repertoire.tab_forms import Asked

#: Told how many steps of how many are done, and what is done now.
Told = Callable[[int, int, str], None]


def pages_of(book: TabBook, told: Told) -> bytes:
    """Return a book's PDF, made from the tunes as they are now."""
    asked, tunes = Asked(**book.asked), tunes_of(book.repertoire)
    ways, costs = sounds(asked.instrument()), preset(asked.player)
    steps = 2 * len(tunes)
    found = []
    for n, tune in enumerate(tunes):
        told(n, steps, _("working out %s") % tune.title)
        found.append(tab(tune, ways, costs, asked.shifts))

    def engraved(done: int, _all: int) -> None:
        told(len(tunes) + done, steps, _("engraving the tunes"))

    return staves.tabs_pdf(found, costs, asked, progress=engraved)
