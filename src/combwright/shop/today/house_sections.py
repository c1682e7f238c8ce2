"""Sections about the shop itself: bins to count, batches that are held, jobs that failed."""

from datetime import timedelta
from typing import Final

from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from combwright.shop.counting.models import Round
from combwright.shop.counting.queries import progress
from combwright.shop.jobs.models import Job
from combwright.shop.jobs.queries import jobs_seen_by
from combwright.shop.people.models import Person
from combwright.shop.people.roles import May, allowed
from combwright.shop.rack.models import Batch, Bin
from combwright.shop.today.parts import SHOWN, Act, Line, Section
from combwright.shop.today.ways import way

#: A job that failed longer ago is no news any more.
_NEWS: Final = timedelta(days=7)


def count(person: Person) -> Section | None:
    """Bins to count: those left in the open round, else those that nobody has counted yet."""
    if not allowed(person.role, May.COUNT):
        return None
    opened = Round.objects.filter(closed_at=None).first()
    far = progress([opened]).get(opened.pk) if opened else None
    if opened and far and far.left:
        address = way("counting:next", opened.pk)
        done = _("%(n)d of %(all)d counted") % {"n": far.counted, "all": far.asked}
        line = Line(_("Round %d") % opened.pk, way("counting:round", opened.pk), done)
        act = Act(_("Go on counting"), address)
        return Section("count", _("Bins to count"), far.left, [line], act, way("counting:rounds"))
    never = Bin.objects.filter(counted_at=None, count__gt=0).count()
    if not never:
        return None
    words = ngettext(
        "%d bin with plates was never counted", "%d bins with plates were never counted", never
    )
    address = way("counting:rounds")
    act = Act(_("Begin a counting round"), address)
    return Section("count", _("Bins to count"), never, (), act, address, words % never)


def held(person: Person) -> Section | None:
    """Batches that are kept out of every plan, and why."""
    there = Batch.objects.filter(held=True).order_by("code")
    rows = list(there[: SHOWN + 1])
    if not rows:
        return None
    many = there.count() if len(rows) > SHOWN else len(rows)
    lines = [
        Line(each.code, way("rack:batch", each.code), each.held_because) for each in rows[:SHOWN]
    ]
    may = allowed(person.role, May.HOLD)
    act = Act(_("Look at batch %s") % rows[0].code, lines[0].address) if may else None
    return Section("held", _("Held batches"), many, lines, act, way("rack:batches"))


def jobs(person: Person) -> Section | None:
    """Jobs that failed lately, of those that the person sees."""
    there = jobs_seen_by(person, state=Job.FAILED).filter(
        finished_at__gte=timezone.now() - _NEWS
    )  # fmt: skip
    rows = list(there[: SHOWN + 1])
    if not rows:
        return None
    many = there.count() if len(rows) > SHOWN else len(rows)
    lines = [Line(each.title, way("jobs:one", each.pk), each.error) for each in rows[:SHOWN]]
    act = Act(_("See why %s failed") % rows[0].title, lines[0].address)
    return Section("jobs", _("Jobs that failed"), many, lines, act, way("jobs:list"))
