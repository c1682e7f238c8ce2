"""Everything that writes blind tests: beginning one, and each answer."""

import secrets

from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from combwright.shop.people.models import Person
from combwright.shop.rack.actions import NotSo
from combwright.shop.register.models import Take
from combwright.shop.tuning.models import BlindTest


def begin(person: Person, a: Take, b: Take, *, place: str, trials: int) -> BlindTest:
    """Begin a blind test; its first X is drawn."""
    return BlindTest.objects.create(a=a, b=b, place=place, trials=trials, drawn=_draw(), by=person)


def _draw() -> str:
    """Draw what X is: a fair coin that nobody can foresee."""
    return secrets.choice("ab")


@transaction.atomic
def answer(test: BlindTest, number: int, said: str) -> BlindTest:
    """Write an answer down, and draw the next X.

    Raises
    ------
    NotSo
        If that trial was answered before, or is not reached yet; the first answer stands.
    """
    there = BlindTest.objects.select_for_update().get(pk=test.pk)
    if there.over or number != there.number:
        raise NotSo(_("Trial %d is not the one that is asked now; its answer stands.") % number)
    there.answers += said
    if there.over:
        there.finished_at = timezone.now()
    else:
        there.drawn += _draw()
    there.save(update_fields=["answers", "drawn", "finished_at"])
    return there
