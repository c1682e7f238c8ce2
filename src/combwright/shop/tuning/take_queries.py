"""Reading takes: lists of them, one with its readings, and the one before."""

from collections.abc import Mapping, Sequence
from uuid import UUID

from django.db.models import QuerySet

from combwright.shop.jobs.models import Job
from combwright.shop.register import readings
from combwright.shop.register.models import Heard, Instrument, Take
from combwright.shop.tuning.models import BlindTest, Comparison
from combwright.shop.tuning.take_actions import comparing_name, job_name


def takes_of(instrument: Instrument) -> QuerySet[Take]:
    """Return the takes of an instrument, newest first, struck ones among them."""
    rows = Take.objects.filter(instrument=instrument)
    return rows.select_related("by", "microphone", "struck_by")


def take_of_key(text: str) -> Take | None:
    """Return the take that came under a key, if one did."""
    try:
        key = UUID(text)
    except ValueError:
        return None
    return Take.objects.filter(key=key).first()


def job_of(take: Take) -> Job | None:
    """Return the job that hears a take, the last one where there were several."""
    return Job.objects.filter(single=job_name(take)).order_by("-pk").first()


def readings_of(take: Take) -> Sequence[Heard]:
    """Return the readings of a take that count, as they were played."""
    return list(take.readings.filter(struck_at=None).order_by("start_s", "pk"))


def take_before(take: Take) -> Take | None:
    """Return the take before, of the same instrument, mounted the same; none that is struck out."""
    rows = Take.objects.filter(
        instrument=take.instrument_id, condition=take.condition, state=Take.HEARD, struck_at=None,
        pk__lt=take.pk,
    )  # fmt: skip
    return rows.select_related("by").order_by("-pk").first()


def latest(instrument: Instrument) -> Mapping[str, Heard]:
    """Return the last reading that counts of each reed that is in its seat now, by its place.

    Readings come one at a time or from a take; two queries, however many there are.
    """
    return {each.place: each for each in readings.latest(instrument)}


def heard_takes(instrument: Instrument) -> QuerySet[Take]:
    """Return the takes of an instrument that were heard and count, newest first."""
    return Take.objects.filter(instrument=instrument, state=Take.HEARD, struck_at=None)


def comparison_of(a: Take, b: Take, *, matched: bool) -> Comparison | None:
    """Return the comparison of two takes, if one was asked for."""
    return Comparison.objects.filter(a=a, b=b, matched=matched).first()


def job_of_comparison(made: Comparison) -> Job | None:
    """Return the job that makes a comparison, the last one where there were several."""
    return Job.objects.filter(single=comparing_name(made)).order_by("-pk").first()


def blind_tests(a: Take, b: Take) -> QuerySet[BlindTest]:
    """Return the blind tests of two takes that were answered to the end, newest first."""
    rows = BlindTest.objects.filter(a=a, b=b).exclude(finished_at=None)
    return rows.select_related("by")
