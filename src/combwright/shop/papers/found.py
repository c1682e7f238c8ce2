"""Finding the things that codes name."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from django.db import models
from django.urls import NoReverseMatch, reverse
from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from combwright.shop.papers.written import BATCH, BIN, ITEM, PLATE, Read, is_garbled, read
from combwright.shop.rack.models import Batch, Bin, Item, Plate
from combwright.shop.rack.plate_codes import is_plate_code, looks_like_a_plate_code


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of thing that has labels: where it is kept, and the page that shows one."""

    model: type[models.Model]
    page: str
    words: Promise


KINDS: Final[dict[str, Kind]] = {
    BIN: Kind(Bin, "rack:bin", gettext_lazy("bin %(code)s")),
    BATCH: Kind(Batch, "rack:batch", gettext_lazy("batch %(code)s")),
    PLATE: Kind(Plate, "papers:plate", gettext_lazy("plate %(code)s")),
    ITEM: Kind(Item, "rack:item", gettext_lazy("%(code)s in the stores")),
}


@dataclass(frozen=True, slots=True)
class Thing:
    """Something that a label names."""

    letter: str
    code: str

    @property
    def address(self) -> str:
        """The page that shows it; of a kind without pages, the list that it stands in."""
        try:
            return reverse(KINDS[self.letter].page, args=[self.code])
        except NoReverseMatch:
            return reverse("papers:scan")

    @property
    def words(self) -> str:
        """What it is, in the reader's language."""
        return str(KINDS[self.letter].words) % {"code": self.code}


def things(text: str) -> Sequence[Thing]:
    """Return what a scanned or typed text names; more than one only where a bare code is shared.

    Capitals count only where the text as it stands names nothing.
    """
    meant = read(text)
    for lookup in ("code", "code__iexact"):
        # One and the same thing may be meant by a mark and by a code.
        found = list(dict.fromkeys(thing for each in meant for thing in _named(each, lookup)))
        if found:
            return found
    return ()


def _named(meant: Read, lookup: str) -> Iterator[Thing]:
    for letter in [meant.letter] if meant.letter else KINDS:
        rows = KINDS[letter].model._default_manager.filter(**{lookup: meant.code})
        for code in rows.values_list("code", flat=True).order_by("code")[:2]:
            yield Thing(letter, code)


def thing(letter: str, code: str) -> Thing | None:
    """Return the thing of a kind with a code, capitals or not where no code is just so."""
    for lookup in ("code", "code__iexact"):
        found = list(_named(Read(code, letter), lookup))
        if len(found) == 1:
            return found[0]
    return None


def nothing_is_called(text: str) -> str:
    """Return what to say when a text names nothing."""
    if is_garbled(text):
        return _(
            "The scanner typed %(text)s, which no label says: it types for another keyboard "
            "than this computer's. Set the scanner to this computer's language."
        ) % {"text": _short(text)}
    meant = read(text)
    name = meant[0].code if meant else ""
    if looks_like_a_plate_code(name) and not is_plate_code(name.upper()):
        return _(
            "Nothing here is called %(name)s. As a plate's code it has a slip: its last sign does "
            "not agree with the others; read it again."
        ) % {"name": _short(name)}
    return _("Nothing here is called %(name)s.") % {"name": _short(name)}


def _short(text: str) -> str:
    line = " ".join(text.split())
    return f"“{line if len(line) <= 80 else line[:79] + '…'}”"
