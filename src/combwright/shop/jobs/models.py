"""Jobs, and when regular work was last done.

Whoever works on a job holds it by a token that is new each time it is taken up. Everything a worker
writes about a job names its token, so one that lost the job can change nothing any more.
"""

from typing import Any, ClassVar

from django.conf import settings
from django.db import models
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from combwright.shop.jobs.registry import title_of


class Job(models.Model):
    """Work that takes its time.

    `single`, where it is not empty, is a name under which one job at most is open at a time.
    """

    WAITING, RUNNING, DONE = "waiting", "running", "done"
    FAILED, STOPPED = "failed", "stopped"
    STATES: ClassVar = [
        (WAITING, _("waiting")),
        (RUNNING, _("running")),
        (DONE, _("done")),
        (FAILED, _("failed")),
        (STOPPED, _("stopped")),
    ]
    OPEN: ClassVar = (WAITING, RUNNING)

    kind = models.CharField(max_length=60)
    arguments = models.JSONField(default=dict)
    single = models.CharField(max_length=100, blank=True)
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, null=True, blank=True, related_name="jobs"
    )
    made_at = models.DateTimeField(default=timezone.now)
    not_before = models.DateTimeField(default=timezone.now)
    state = models.CharField(max_length=8, choices=STATES, default=WAITING)

    worker = models.CharField(max_length=100, blank=True)
    token = models.UUIDField(null=True, blank=True)
    lease_until = models.DateTimeField(null=True, blank=True)
    beat_at = models.DateTimeField(null=True, blank=True)
    tries = models.PositiveSmallIntegerField(default=0)
    started_at = models.DateTimeField(null=True, blank=True)

    done = models.PositiveBigIntegerField(default=0)
    total = models.PositiveBigIntegerField(default=0)
    words = models.CharField(max_length=200, blank=True)

    stop_asked_at = models.DateTimeField(null=True, blank=True)
    stop_asked_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, null=True, blank=True, related_name="+"
    )
    finished_at = models.DateTimeField(null=True, blank=True)
    result = models.JSONField(null=True, blank=True)
    error = models.CharField(max_length=500, blank=True)

    class Meta:
        """How jobs are found and guarded."""

        ordering: ClassVar = ["-id"]
        indexes: ClassVar = [
            models.Index(fields=["state", "not_before", "id"], name="job_waiting"),
            models.Index(fields=["state", "lease_until"], name="job_lease"),
            models.Index(fields=["made_by", "-id"], name="job_of_a_person"),
            models.Index(fields=["finished_at"], name="job_finished"),
        ]
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=models.Q(state__in=["waiting", "running", "done", "failed", "stopped"]),
                name="job_state_is_known",
            ),
            models.CheckConstraint(
                condition=models.Q(state="running", token__isnull=False, lease_until__isnull=False)
                | (~models.Q(state="running") & models.Q(token=None, lease_until=None)),
                name="job_is_held_while_it_runs",
            ),
            models.UniqueConstraint(
                fields=["single"],
                condition=models.Q(state__in=["waiting", "running"]) & ~models.Q(single=""),
                name="job_that_is_single",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.kind} {self.pk}"

    @property
    def title(self) -> str:
        """What people call this kind of work."""
        return title_of(self.kind)

    @property
    def is_open(self) -> bool:
        """Whether it waits or runs."""
        return self.state in self.OPEN

    @property
    def percent(self) -> int | None:
        """How much is done, rounded down; None while nobody knows."""
        return self.done * 100 // self.total if self.total else None

    @property
    def seconds(self) -> float | None:
        """How long the last try took."""
        if self.started_at is None or self.finished_at is None:
            return None
        return max(0.0, (self.finished_at - self.started_at).total_seconds())

    @property
    def address(self) -> str:
        """Where the result is to be seen, if it says so: a page of the shop."""
        given: Any = self._told("address")
        ours = isinstance(given, str) and given.startswith("/") and given[1:2] not in ("/", "\\")
        return given if ours else ""

    @property
    def result_words(self) -> str:
        """What the result says to people."""
        return str(self._told("words") or "")

    def _told(self, what: str) -> Any:
        return self.result.get(what) if isinstance(self.result, dict) else None


class Regular(models.Model):
    """Regular work by name, and when it was last done."""

    name = models.CharField(max_length=150, primary_key=True)
    last_at = models.DateTimeField(null=True, blank=True)

    def __str__(self) -> str:
        return self.name
