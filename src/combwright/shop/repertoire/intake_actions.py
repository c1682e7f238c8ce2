"""Taking tunes in from files: kept, read, looked at, and taken in all at once or not at all."""

from collections.abc import Collection, Iterator, Sequence
from datetime import timedelta
from typing import Any, Final

from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from combwright.shop.jobs import actions as jobs
from combwright.shop.people.models import Person
from combwright.shop.repertoire.actions import NotSo, add_found, locked
from combwright.shop.repertoire.models import FoundTune, Intake, Repertoire, TunesFile
from combwright.shop.repertoire.reading import AT_ONCE, Given, read_files, weight
from combwright.shop.repertoire.rows import row_of
from combwright.tunes.tune import Reading

#: The kind of job that reads the files of an intake (`tasks.py`).
KIND: Final = "tunes"
#: Files whose tunes nobody took in are thrown away after so many days, when the next ones come.
KEPT_DAYS: Final = 7
_BATCH: Final = 500


class Gone(NotSo):
    """Tunes that were taken in, or thrown away."""

    def __init__(self) -> None:
        super().__init__(_("These tunes were taken in before, or thrown away; send them again."))


@transaction.atomic
def keep(person: Person, repertoire: Repertoire, files: Sequence[Given]) -> Intake:
    """Keep files until their tunes are taken in; read small ones now, have others read by a worker.

    Raises
    ------
    NotSo
        If the repertoire was thrown away.
    """
    there = locked(repertoire)
    past = timezone.now() - timedelta(days=KEPT_DAYS)
    Intake.objects.filter(made_at__lt=past).delete()
    intake = Intake.objects.create(repertoire=there, made_by=person)
    rows = (TunesFile(intake=intake, name=name[:120], data=data) for name, data in files)
    TunesFile.objects.bulk_create(rows, batch_size=_BATCH)
    if weight(files) <= AT_ONCE:
        return write_down(intake, read_files(files, lambda *_told: None))
    read_later(intake, person)
    return intake


def read_later(intake: Intake, person: Person) -> None:
    """Have the files of an intake read by the next worker that is free."""
    single = f"tunes-{intake.pk}"
    intake.job = jobs.start(KIND, {"intake": intake.pk}, person, single=single)
    intake.save(update_fields=["job"])


def files_of(intake: Intake) -> list[Given]:
    """Return the files of an intake as they were sent."""
    kept = intake.files.values_list("name", "data")
    return [(name, bytes(data)) for name, data in kept]


@transaction.atomic
def write_down(intake: Intake, reading: Reading) -> Intake:
    """Write down what was read of an intake; what was written down before stays.

    Raises
    ------
    Gone
        If it was thrown away meanwhile.
    """
    there = _locked(intake.pk)
    if there.read_at is not None:
        return there
    rows = [row_of(tune) for tune in reading.tunes]
    FoundTune.objects.bulk_create(_found(there, rows), batch_size=_BATCH)
    there.faults, there.read_at = list(reading.faults), timezone.now()
    there.save(update_fields=["faults", "read_at"])
    there.files.all().delete()
    return there


def _found(there: Intake, rows: Sequence[dict[str, Any]]) -> Iterator[FoundTune]:
    kept = set(there.repertoire.melodies.values_list("mark", flat=True))
    seen: set[str] = set()
    for place, row in enumerate(rows, start=1):
        mark = row["mark"]
        again = FoundTune.KEPT if mark in kept else FoundTune.TWICE if mark in seen else ""
        seen.add(mark)
        yield FoundTune(intake=there, place=place, again=again, wanted=not again, **row)


def _locked(key: int) -> Intake:
    """Return an intake that nobody else changes, nor its repertoire, which is locked first."""
    known = Intake.objects.select_related("repertoire").filter(pk=key).first()
    if known is None:
        raise Gone
    repertoire = locked(known.repertoire)
    there = Intake.objects.select_for_update().filter(pk=key).first()
    if there is None:
        raise Gone
    there.repertoire = repertoire
    return there


@transaction.atomic
def tick(key: int, shown: Collection[int], ticked: Collection[int]) -> None:
    """Keep the ticks of some tunes that somebody saw.

    Raises
    ------
    Gone
        If the tunes were taken in, or thrown away.
    """
    there = _locked(key)
    seen = there.found.filter(pk__in=shown)
    seen.filter(pk__in=ticked).update(wanted=True)
    seen.exclude(pk__in=ticked).update(wanted=False)


@transaction.atomic
def tick_all(key: int, *, wanted: bool) -> None:
    """Tick all tunes of an intake that the repertoire does not have, or none."""
    there = _locked(key)
    there.found.update(wanted=False)
    if wanted:
        there.found.filter(again="").update(wanted=True)


def take_in(person: Person, key: int) -> int:
    """Put the ticked tunes of an intake into its repertoire; return how many.

    Raises
    ------
    Gone
        If they were taken in before, or thrown away.
    NotSo
        If none is ticked, or some of them came into the repertoire meanwhile; those are then
        marked and no longer ticked. No tune is taken in then.
    """
    met = _meanwhile(key)
    if met:
        words = ngettext(
            "%d of these tunes came into the repertoire meanwhile. It is marked and no longer "
            "ticked; nothing is taken in yet. Look again.",
            "%d of these tunes came into the repertoire meanwhile. They are marked and no longer "
            "ticked; nothing is taken in yet. Look again.",
            met,
        )
        raise NotSo(words % met)
    return _take_in(person, key)


@transaction.atomic
def _meanwhile(key: int) -> int:
    """Mark ticked tunes that have come into the repertoire since they were read."""
    there = _locked(key)
    kept = there.repertoire.melodies.values("mark")
    return there.found.filter(again="", mark__in=kept).update(again=FoundTune.KEPT, wanted=False)


@transaction.atomic
def _take_in(person: Person, key: int) -> int:
    there = _locked(key)
    # Looked at once more now that nobody else writes: who was quicker may have come in between.
    kept = there.repertoire.melodies.values("mark")
    if there.found.filter(again="", wanted=True, mark__in=kept).exists():
        raise NotSo(_("Somebody else took tunes in just now; look again."))
    if not there.found.filter(wanted=True).exists():
        raise NotSo(_("No tune is ticked; tick those that you want, or throw the files away."))
    return add_found(person, there)


@transaction.atomic
def throw_away(key: int) -> None:
    """Throw away an intake that nobody wants.

    Raises
    ------
    Gone
        If its tunes were taken in, or it was thrown away before.
    """
    _locked(key).delete()
