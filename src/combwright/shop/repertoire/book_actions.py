"""Books of tab: all tunes of a repertoire for one instrument, made by a worker and kept."""

from dataclasses import asdict
from datetime import timedelta
from typing import Final

from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from combwright.shop.jobs import actions as jobs
from combwright.shop.people.models import Person
from combwright.shop.repertoire.actions import NotSo, locked
from combwright.shop.repertoire.models import Repertoire, TabBook
from combwright.shop.repertoire.tab_forms import Asked

#: The kind of job that makes a book (`tasks.py`).
KIND: Final = "tab book"
#: More tunes than this are parted into several repertoires: a worker would be at it for long.
MOST_TUNES: Final = 2_000
#: Books of a repertoire that are kept, and for how many days.
_KEPT, _KEPT_DAYS = 20, 90


@transaction.atomic
def order(
    person: Person, repertoire: Repertoire, asked: Asked, *, by_worker: bool = True
) -> TabBook:
    """Have a book made; one that was made of these very tunes is returned as it is.

    Parameters
    ----------
    person : Person
        Who wants it.
    repertoire : Repertoire
        Whose tunes it holds.
    asked : Asked
        The instrument, how tunes are moved, and who plays.
    by_worker : bool
        False where whoever calls makes it at once.

    Raises
    ------
    NotSo
        If the repertoire was thrown away, has no tunes, or more than a book holds.
    """
    there = locked(repertoire)
    tunes = there.melodies.count()
    if not tunes:
        raise NotSo(_("The repertoire has no tunes yet; load some first."))
    if tunes > MOST_TUNES:
        raise NotSo(
            _("A book holds at most %(most)d tunes, and the repertoire has %(tunes)d; part it into "
              "several.") % {"most": MOST_TUNES, "tunes": tunes}
        )  # fmt: skip
    said = asdict(asked)
    known = there.books.filter(version=there.version, asked=said).first()
    if known is None:
        _throw_away_old(there)
        known = TabBook.objects.create(
            repertoire=there, version=there.version, asked=said, made_by=person
        )
    if known.pdf is None and by_worker:
        make_later(known, person)
    return known


def make_later(book: TabBook, person: Person) -> None:
    """Have a book made by the next worker that is free; one that is being made stays so."""
    book.job = jobs.start(KIND, {"book": book.pk}, person, single=f"tab-book-{book.pk}")
    book.save(update_fields=["job"])


def _throw_away_old(there: Repertoire) -> None:
    past = timezone.now() - timedelta(days=_KEPT_DAYS)
    there.books.filter(made_at__lt=past).delete()
    kept = there.books.order_by("-pk").values_list("pk", flat=True)[: _KEPT - 1]
    there.books.exclude(pk__in=list(kept)).delete()


@transaction.atomic
def keep(book: TabBook, pdf: bytes) -> bool:
    """Keep a book that was made; say whether anybody still wants it."""
    return bool(TabBook.objects.filter(pk=book.pk).update(pdf=pdf))
