"""Reading large files of tunes, and making books of tab, as jobs: what comes out is kept."""

from typing import TYPE_CHECKING, Any

from django.urls import reverse
from django.utils.formats import number_format
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from combwright.shop.jobs.registry import job
from combwright.shop.repertoire import book_actions, intake_actions
from combwright.shop.repertoire.books import pages_of
from combwright.shop.repertoire.models import Intake, TabBook
from combwright.shop.repertoire.reading import read_files

if TYPE_CHECKING:
    from combwright.shop.jobs.run import Run


@job(intake_actions.KIND, title=gettext_lazy("Read tunes"))
def read(run: "Run", *, intake: int) -> dict[str, Any]:
    """Read the files of an intake, and write down what they hold.

    Parameters
    ----------
    run : Run
        Tells how far it is, and hears when it must stop.
    intake : int
        The intake's key.
    """
    there = Intake.objects.filter(pk=intake).first()
    if there is None:
        return {"words": _("The files were thrown away meanwhile.")}

    def told(done: int, total: int, name: str, tune: int) -> None:
        words = _("reading %(file)s: tune %(n)s") % {"file": name, "n": number_format(tune)}
        run.progress(done, total, words)

    found = read_files(intake_actions.files_of(there), told)
    with run.closing() as result:
        intake_actions.write_down(there, found)
        tunes = len(found.tunes)
        result["words"] = ngettext("%d tune was read.", "%d tunes were read.", tunes) % tunes
        result["address"] = reverse("repertoire:intake", args=[there.pk])
    return result


@job(book_actions.KIND, title=gettext_lazy("Make a book of tab"))
def make_book(run: "Run", *, book: int) -> dict[str, Any]:
    """Work all tunes of a repertoire out for an instrument, and engrave them.

    Parameters
    ----------
    run : Run
        Tells how far it is, and hears when it must stop.
    book : int
        The book's key.
    """
    there = TabBook.objects.select_related("repertoire").filter(pk=book).first()
    if there is None:
        return {"words": _("The book was thrown away meanwhile.")}
    pages = pages_of(there, run.progress)
    with run.closing() as result:
        book_actions.keep(there, pages)
        result["words"] = _("The book is made.")
        result["address"] = reverse("repertoire:book", args=[there.pk])
    return result
