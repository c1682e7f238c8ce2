"""What is read from repertoires; each is a fixed number of queries."""

from collections.abc import Iterable

from django.db.models import Count, F, Q, QuerySet

from combwright.shop.repertoire.models import FoundTune, Intake, Melody, Repertoire, TabBook
from combwright.shop.repertoire.rows import tune_of
from combwright.tunes.tune import Tune


def tunes_of(repertoire: Repertoire) -> tuple[Tune, ...]:
    """Return the tunes of a repertoire, in their order, as they were read."""
    kept = repertoire.melodies.order_by("place").values_list("music", "title")
    return tuple(tune_of(music, title) for music, title in kept)


def repertoires_found(text: str) -> QuerySet[Repertoire]:
    """Return repertoires by part of their name or of their customer's."""
    found = Repertoire.objects.select_related("customer").order_by("name", "pk")
    if not text:
        return found
    return found.filter(Q(name__icontains=text) | Q(customer__name__icontains=text))


def tunes_by_repertoire(repertoires: Iterable[Repertoire]) -> dict[int, int]:
    """Return how many tunes each of some repertoires has."""
    keys = [each.pk for each in repertoires]
    rows = Melody.objects.filter(repertoire__in=keys).order_by().values(key=F("repertoire"))
    return {row["key"]: row["tunes"] for row in rows.annotate(tunes=Count("pk"))}


def melodies_found(repertoire: Repertoire, text: str) -> QuerySet[Melody]:
    """Return the tunes of a repertoire by part of their title, without their music."""
    found = repertoire.melodies.defer("music").order_by("place")
    return found.filter(title__icontains=text) if text else found


def intake_shown(key: int) -> Intake | None:
    """Return an intake with its repertoire, who sent it, and the job that reads it."""
    found = Intake.objects.select_related("repertoire", "made_by", "job")
    return found.filter(pk=key).first()


def tunes_found(intake: Intake) -> QuerySet[FoundTune]:
    """Return the tunes that were read, in the order of the files."""
    return intake.found.order_by("place")


def wanted(intake: Intake) -> int:
    """Return how many tunes of an intake are ticked."""
    return intake.found.filter(wanted=True).count()


def neighbours(melody: Melody) -> tuple[Melody | None, Melody | None]:
    """Return the tunes before and after one in its repertoire."""
    others = Melody.objects.filter(repertoire=melody.repertoire_id).only("pk", "title", "place")
    before = others.filter(place__lt=melody.place).order_by("-place").first()
    return before, others.filter(place__gt=melody.place).order_by("place").first()


def books_of(repertoire: Repertoire) -> QuerySet[TabBook]:
    """Return the books of a repertoire without their pages, each with whether it is `made`."""
    rows = repertoire.books.defer("pdf").select_related("made_by", "job").order_by("-pk")
    return rows.annotate(made=Q(pdf__isnull=False))


def is_made(book: TabBook) -> bool:
    """Say whether a book's pages are there."""
    return TabBook.objects.filter(pk=book.pk, pdf__isnull=False).exists()
