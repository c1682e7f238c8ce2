"""What is made of two takes: a comparison, and a blind test of somebody's ears."""

from typing import ClassVar

from django.conf import settings
from django.db import models


class Comparison(models.Model):
    """Two takes compared note by note; what was found is kept, since it takes some seconds.

    `matched` says that the usual difference of level was taken out. `found` is a document of
    `take_comparing.py`; until it is there, `fault` may say why it never will be.
    """

    a = models.ForeignKey("register.Take", models.PROTECT, related_name="compared_as_a")
    b = models.ForeignKey("register.Take", models.PROTECT, related_name="compared_as_b")
    matched = models.BooleanField(default=False)
    found = models.JSONField(null=True, blank=True)
    fault = models.CharField(max_length=500, blank=True)
    made_at = models.DateTimeField(auto_now_add=True)
    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")

    class Meta:
        """How comparisons are guarded."""

        constraints: ClassVar = [
            models.UniqueConstraint(fields=["a", "b", "matched"], name="two_takes_compared_once"),
        ]

    def __str__(self) -> str:
        return f"{self.a_id} {self.b_id}"


class BlindTest(models.Model):
    """Somebody tells by ear, in so many trials, whether X is A or B.

    `drawn` holds which X was, a letter for each trial begun; `answers` which X was taken for.
    """

    a = models.ForeignKey("register.Take", models.PROTECT, related_name="blind_as_a")
    b = models.ForeignKey("register.Take", models.PROTECT, related_name="blind_as_b")
    #: The seat that is listened to, as readings name it.
    place = models.CharField(max_length=30)
    trials = models.PositiveSmallIntegerField()
    drawn = models.CharField(max_length=200)
    answers = models.CharField(max_length=200, blank=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="blind_tests")
    made_at = models.DateTimeField(auto_now_add=True)
    finished_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        """How blind tests are listed."""

        ordering: ClassVar = ["-id"]
        indexes: ClassVar = [models.Index(fields=["a", "b", "-id"])]

    def __str__(self) -> str:
        return f"{self.a_id} {self.b_id} {self.place}"

    @property
    def number(self) -> int:
        """The trial that waits for its answer."""
        return len(self.answers) + 1

    @property
    def over(self) -> bool:
        """Whether every trial is answered."""
        return len(self.answers) >= self.trials

    @property
    def right(self) -> int:
        """How many answers were right."""
        return sum(one == other for one, other in zip(self.drawn, self.answers, strict=False))
