"""Answers about repertoires: what was asked, of which tunes, and what came out."""

from typing import ClassVar

from django.conf import settings
from django.db import models
from django.utils.translation import gettext_lazy as _


class Answer(models.Model):
    """A ranking of layouts, or the best swaps, for a repertoire as it was then."""

    MATCH, SWAPS = "match", "swaps"
    KINDS: ClassVar = [(MATCH, _("layouts ranked")), (SWAPS, _("reeds swapped"))]

    repertoire = models.ForeignKey("repertoire.Repertoire", models.CASCADE, related_name="answers")
    kind = models.CharField(max_length=10, choices=KINDS)
    #: The repertoire's version when its tunes were read.
    version = models.PositiveIntegerField()
    asked = models.JSONField()
    said = models.JSONField()
    made_at = models.DateTimeField(auto_now_add=True)
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, null=True, blank=True, related_name="+"
    )

    class Meta:
        """How answers are listed."""

        ordering: ClassVar = ["-id"]

    def __str__(self) -> str:
        return f"{self.repertoire} {self.kind}"
