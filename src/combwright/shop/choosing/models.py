"""Answers about repertoires: what was asked, of which tunes, what came out, what became of it."""

from typing import ClassVar

from django.conf import settings
from django.db import models
from django.utils.translation import gettext_lazy as _


class Answer(models.Model):
    """A ranking of layouts, or the best swaps, for a repertoire as it was then.

    Until `said` is there a job works it out; `best` is its outcome in a few words.
    """

    MATCH, SWAPS = "match", "swaps"
    KINDS: ClassVar = [(MATCH, _("layouts ranked")), (SWAPS, _("reeds swapped"))]

    repertoire = models.ForeignKey("repertoire.Repertoire", models.CASCADE, related_name="answers")
    kind = models.CharField(max_length=10, choices=KINDS)
    #: The repertoire's version when its tunes were read.
    version = models.PositiveIntegerField()
    asked = models.JSONField()
    said = models.JSONField(null=True, blank=True)
    best = models.CharField(max_length=200, blank=True)
    #: Drawn when it was worked out, as SVG: for a page, and for a telephone.
    picture = models.TextField(blank=True)
    picture_narrow = models.TextField(blank=True)
    job = models.ForeignKey(
        "jobs.Job", models.SET_NULL, null=True, blank=True, related_name="answers"
    )
    made_at = models.DateTimeField(auto_now_add=True)
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, null=True, blank=True, related_name="+"
    )

    class Meta:
        """How answers are listed."""

        ordering: ClassVar = ["-id"]
        indexes: ClassVar = [models.Index(fields=["repertoire", "kind", "-id"], name="answer_list")]

    def __str__(self) -> str:
        return f"{self.repertoire_id} {self.kind} {self.pk}"


class MadeWish(models.Model):
    """A wish that was made of a row of an answer, in a key; made once, however often pressed."""

    answer = models.ForeignKey(Answer, models.CASCADE, related_name="wishes")
    row = models.PositiveIntegerField()
    key = models.CharField(max_length=10)
    wish = models.ForeignKey("orders.Wish", models.CASCADE, related_name="+")
    made_at = models.DateTimeField(auto_now_add=True)
    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")

    class Meta:
        """How made wishes are listed and guarded."""

        ordering: ClassVar = ["answer_id", "row", "id"]
        verbose_name_plural = "made wishes"
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["answer", "row", "key"], name="a_row_becomes_one_wish_in_a_key"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.answer_id} {self.row} {self.key}"
