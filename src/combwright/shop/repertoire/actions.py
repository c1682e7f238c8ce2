"""Everything that writes repertoires, apart from taking files in (`intake_actions.py`)."""

import hashlib
from collections.abc import Collection, Mapping
from typing import Any, Final

from django.db import IntegrityError, connection, transaction
from django.db.models import F, Max
from django.utils.translation import gettext as _

from combwright.errors import CombwrightError
from combwright.shop.orders.customer_actions import forget_too
from combwright.shop.orders.models import Customer
from combwright.shop.people import journal
from combwright.shop.people.models import Person
from combwright.shop.repertoire.models import FoundTune, Intake, Melody, Repertoire
from combwright.shop.repertoire.rows import ROW, row_of
from combwright.tunes.tune import Tune

#: What is said of a repertoire itself.
FACTS: Final = ("name", "customer_id", "about")
_BATCH: Final = 500
#: Places are moved by way of others, since no two tunes may share one even for a moment.
_ASIDE: Final = 1_000_000_000


class NotSo(CombwrightError):
    """Something that cannot be done with a repertoire as it is."""


def make(person: Person, facts: Mapping[str, Any]) -> Repertoire:
    """Begin a repertoire.

    Raises
    ------
    NotSo
        If there is one of that name.
    """
    made = Repertoire(made_by=person, **facts)
    _save(made)
    _journal("repertoire_made", made, person)
    return made


@transaction.atomic
def change(
    repertoire: Repertoire, person: Person, facts: Mapping[str, Any], *, seen: str
) -> Repertoire:
    """Change what is said of a repertoire.

    Raises
    ------
    NotSo
        If somebody else changed it since `seen`, or there is another one of that name.
    """
    there = locked(repertoire)
    if state_of(there) != seen:
        raise NotSo(
            _("Somebody else changed this repertoire meanwhile. What you typed is still here: look "
              "at theirs, then save yours over it.")
        )  # fmt: skip
    for name, value in facts.items():
        setattr(there, name, value)
    _save(there)
    _journal("repertoire_changed", there, person)
    return there


def _save(repertoire: Repertoire) -> None:
    try:
        with transaction.atomic():
            repertoire.save()
    except IntegrityError as error:
        raise NotSo(
            _("There is a repertoire %r already; give this one another name.") % repertoire.name
        ) from error


def state_of(repertoire: Repertoire) -> str:
    """Return what tells whether a repertoire was changed since."""
    values = "\n".join(str(getattr(repertoire, name)) for name in FACTS)
    return hashlib.sha256(values.encode()).hexdigest()[:20]


def locked(repertoire: Repertoire) -> Repertoire:
    """Return a repertoire that nobody else changes until the transaction ends.

    Raises
    ------
    NotSo
        If it was thrown away.
    """
    there = Repertoire.objects.select_for_update().filter(pk=repertoire.pk).first()
    if there is None:
        raise NotSo(_("This repertoire was thrown away meanwhile."))
    return there


@transaction.atomic
def throw_away(repertoire: Repertoire, person: Person) -> None:
    """Throw a repertoire away with its tunes and all that was worked out from them."""
    there = locked(repertoire)
    _journal("repertoire_thrown_away", there, person)
    there.delete()


@forget_too
def forget(customer: Customer) -> None:
    """Throw away the repertoires of a customer whose data are erased: what they play is theirs."""
    Repertoire.objects.filter(customer=customer).delete()


@transaction.atomic
def add_tunes(repertoire: Repertoire, person: Person, tunes: Collection[Tune]) -> int:
    """Put tunes behind those that are there; return how many."""
    there = locked(repertoire)
    made = (
        Melody(repertoire=there, place=place, **row_of(tune))
        for place, tune in enumerate(tunes, start=_last_place(there) + 1)
    )
    Melody.objects.bulk_create(made, batch_size=_BATCH)
    return _added(there, person, len(tunes))


def add_found(person: Person, intake: Intake) -> int:
    """Put the ticked tunes of an intake behind those of its repertoire; the intake goes.

    Both are locked. The database copies the rows itself: thousands of tunes are a second's work,
    which they would not be if their music were read and written once more.
    """
    there = intake.repertoire
    columns = ", ".join(ROW)
    with connection.cursor() as cursor:
        cursor.execute(
            f"INSERT INTO {Melody._meta.db_table} (repertoire_id, place, {columns}) "
            f"SELECT %s, %s + ROW_NUMBER() OVER (ORDER BY place), {columns} "
            f"FROM {FoundTune._meta.db_table} WHERE intake_id = %s AND wanted",
            [there.pk, _last_place(there), intake.pk],
        )
        added = cursor.rowcount
    intake.delete()
    return _added(there, person, added)


def _last_place(there: Repertoire) -> int:
    return there.melodies.aggregate(last=Max("place"))["last"] or 0


def _added(there: Repertoire, person: Person, tunes: int) -> int:
    _changed(there)
    _journal("tunes_taken_in", there, person, tunes=tunes)
    return tunes


@transaction.atomic
def remove_tunes(repertoire: Repertoire, person: Person, keys: Collection[int]) -> int:
    """Take tunes out of a repertoire; return how many of them were there."""
    there = locked(repertoire)
    gone, _each = there.melodies.filter(pk__in=keys).delete()
    if gone:
        _changed(there)
        _journal("tunes_removed", there, person, tunes=gone)
    return gone


@transaction.atomic
def change_tune(melody: Melody, person: Person, title: str, place: int) -> None:
    """Give a tune another title, or another place; those behind it move on.

    Parameters
    ----------
    melody : Melody
        The tune.
    person : Person
        Who changes it.
    title : str
        Its new title.
    place : int
        Where it comes to stand, from 1; beyond the last it becomes the last.

    Raises
    ------
    NotSo
        If it was removed meanwhile.
    """
    there = locked(melody.repertoire)
    row = there.melodies.defer("music").filter(pk=melody.pk).first()
    if row is None:
        raise NotSo(_("This tune was removed meanwhile."))
    there.melodies.filter(pk=row.pk).update(title=title)
    if place != place_of(row):
        _move(there, row, place)
    _journal("tune_changed", there, person, tune=row.pk)


def place_of(melody: Melody) -> int:
    """Return the how manieth tune of its repertoire it is; kept places may have gaps."""
    before = Melody.objects.filter(repertoire=melody.repertoire_id, place__lt=melody.place)
    return before.count() + 1


def _move(there: Repertoire, row: Melody, place: int) -> None:
    there.melodies.filter(pk=row.pk).update(place=2 * _ASIDE)
    others = there.melodies.exclude(pk=row.pk).order_by("place")
    found = next(iter(others.values_list("place", flat=True)[place - 1 : place]), None)
    if found is None:
        found = (others.aggregate(last=Max("place"))["last"] or 0) + 1
    others.filter(place__gte=found).update(place=F("place") + _ASIDE)
    others.filter(place__gte=_ASIDE).update(place=F("place") - _ASIDE + 1)
    there.melodies.filter(pk=row.pk).update(place=found)


def _changed(there: Repertoire) -> None:
    Repertoire.objects.filter(pk=there.pk).update(version=F("version") + 1)


def _journal(event: str, repertoire: Repertoire, person: Person, **facts: int) -> None:
    journal.write(
        event, {"repertoire": repertoire.pk, "by": person.name, **facts}, room="repertoire"
    )
