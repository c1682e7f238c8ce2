"""The regular work of this room: jobs that finished long ago are thrown away."""

from datetime import timedelta

from combwright.shop.jobs.actions import throw_away_old
from combwright.shop.jobs.regular import regular


@regular(every=timedelta(hours=1))
def throw_old_jobs_away() -> None:
    """Make room, some jobs at a time."""
    throw_away_old()
