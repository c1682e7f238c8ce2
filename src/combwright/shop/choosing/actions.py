"""Everything that writes answers: asking, keeping what came out, throwing away, making wishes."""

import hashlib
import json
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final

from django.db import transaction
from django.utils.translation import gettext as _

from combwright.errors import CombwrightError
from combwright.shop.choosing.models import Answer
from combwright.shop.jobs import actions as jobs
from combwright.shop.jobs.models import Job
from combwright.shop.jobs.wording import one_line
from combwright.shop.people import journal
from combwright.shop.people.models import Person
from combwright.shop.repertoire.models import Repertoire

#: The kinds of job that work answers out (`tasks.py`), by the kind of answer.
JOBS: Final = {Answer.MATCH: "match", Answer.SWAPS: "swaps"}
_LONGEST: Final = 200


class NotSo(CombwrightError):
    """Something that cannot be asked or done."""


@dataclass(frozen=True, slots=True)
class Worked:
    """What was worked out.

    Parameters
    ----------
    version : int
        Of the repertoire when its tunes were read.
    said : mapping
        The answer, as JSON holds it.
    best : str
        Its outcome in a few words.
    pictures : tuple of str
        As SVG, for a page and for a telephone; empty where none can be drawn.
    """

    version: int
    said: Mapping[str, Any]
    best: str
    pictures: tuple[str, str] = ("", "")


@transaction.atomic
def ask(person: Person, repertoire: Repertoire, kind: str, asked: Mapping[str, Any]) -> Answer:
    """Have a question worked out by the next worker that is free.

    While the same is being worked out for the same tunes, that is what is returned.

    Raises
    ------
    NotSo
        If the repertoire is empty, or was thrown away.
    """
    there = Repertoire.objects.select_for_update().filter(pk=repertoire.pk).first()
    if there is None or not there.melodies.exists():
        raise NotSo(_("There are no tunes in this repertoire; load some first."))
    made = Answer.objects.create(
        repertoire=there, kind=kind, version=there.version, asked=dict(asked), made_by=person
    )
    job = jobs.start(JOBS[kind], {"answer": made.pk}, person, single=_name(made))
    if job.arguments["answer"] != made.pk:
        made.delete()
        return Answer.objects.get(pk=job.arguments["answer"])
    made.job = job
    made.save(update_fields=["job"])
    return made


def _name(answer: Answer) -> str:
    """Return the name under which one job at most works out the same."""
    said = json.dumps([answer.version, answer.asked], sort_keys=True)
    return f"{answer.kind} {answer.repertoire_id} {hashlib.sha256(said.encode()).hexdigest()[:20]}"


def keep(key: int, worked: Worked) -> Answer | None:
    """Keep what was worked out; None if nobody wants it any more.

    To be called within a job's end: what another try kept before stays.
    """
    there = Answer.objects.select_for_update().filter(pk=key).first()
    if there is None or there.said is not None:
        return there
    there.version, there.said = worked.version, dict(worked.said)
    there.best = one_line(worked.best, _LONGEST)
    there.picture, there.picture_narrow = worked.pictures
    there.save(update_fields=["version", "said", "best", "picture", "picture_narrow"])
    return there


def stop(job: Job, person: Person) -> Job:
    """Have a question that is being worked out stopped."""
    return jobs.ask_to_stop(job, person)


@transaction.atomic
def throw_away(answer: Answer, person: Person) -> None:
    """Throw an answer away; what is still being worked out is stopped. Wishes made of it stay."""
    there = Answer.objects.select_for_update().filter(pk=answer.pk).first()
    if there is None:
        return
    if there.job is not None:
        jobs.ask_to_stop(there.job, person)
    journal.write(
        "answer_thrown_away", {"answer": there.pk, "by": person.name, "kind": there.kind},
        room="choosing",
    )  # fmt: skip
    there.delete()
