"""Combs, layouts and the workshop's numbers, each as the TOML text of its file, every version kept.

The text is the truth: drawings, forms and plans read it each time. A version is never changed;
bringing an earlier one back writes a new one.
"""

from typing import ClassVar
from unicodedata import normalize

from django.conf import settings
from django.db import models
from django.utils.translation import gettext_lazy as _

LONGEST_TITLE = 100
LONGEST_CODE = 60
_LONGEST_KEY = 4 * LONGEST_TITLE  # letters may become several; beyond that titles count as one


def title_key(title: str) -> str:
    """Return what tells whether two titles are one: letters of any size, blanks of any number."""
    return " ".join(normalize("NFKC", title).casefold().split())[:_LONGEST_KEY]


class Design(models.Model):
    """A comb, a layout of the shop's own, or the workshop's numbers, as it is now."""

    COMB, LAYOUT, WORKSHOP = "comb", "layout", "workshop"
    KINDS: ClassVar = [
        (COMB, _("comb")),
        (LAYOUT, _("layout")),
        (WORKSHOP, _("workshop's numbers")),
    ]

    kind = models.CharField(_("kind"), max_length=8, choices=KINDS)
    #: What orders and files call it; it never changes.
    code = models.CharField(_("name in lists and files"), max_length=LONGEST_CODE)
    title = models.CharField(_("title"), max_length=LONGEST_TITLE)
    title_key = models.CharField(max_length=_LONGEST_KEY)
    toml = models.TextField()
    version = models.PositiveIntegerField(_("version"), default=1)
    #: The comb that is meant wherever none is named.
    usual = models.BooleanField(_("the usual comb"), default=False)
    retired = models.BooleanField(_("retired"), default=False)
    changed_at = models.DateTimeField(_("changed"), auto_now=True)
    changed_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")

    class Meta:
        """How designs are listed and guarded."""

        ordering: ClassVar = ["kind", "title_key"]
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=models.Q(kind__in=["comb", "layout", "workshop"]),
                name="design_is_of_a_kind",
            ),
            models.UniqueConstraint(fields=["kind", "code"], name="one_design_of_a_code"),
            models.UniqueConstraint(fields=["kind", "title_key"], name="one_design_of_a_title"),
            models.UniqueConstraint(
                fields=["usual"], condition=models.Q(usual=True), name="one_usual_comb"
            ),
            models.CheckConstraint(
                condition=models.Q(usual=False) | models.Q(kind="comb", retired=False),
                name="usual_is_a_comb_in_use",
            ),
        ]

    def __str__(self) -> str:
        return self.title


class DesignVersion(models.Model):
    """One line of a design's history: what was done, by whom, and the text as it was then."""

    MADE, EDITED, TAKEN_IN, BROUGHT_BACK = "made", "edited", "taken in", "brought back"
    RETIRED, IN_USE = "retired", "in use again"
    USUAL, NO_LONGER_USUAL = "made usual", "no longer usual"
    WHATS: ClassVar = [
        (MADE, _("made")),
        (EDITED, _("edited in the form")),
        (TAKEN_IN, _("taken in from a file")),
        (BROUGHT_BACK, _("an earlier version brought back")),
        (RETIRED, _("retired")),
        (IN_USE, _("taken into use again")),
        (USUAL, _("made the usual comb")),
        (NO_LONGER_USUAL, _("no longer the usual comb")),
    ]

    design = models.ForeignKey(Design, models.PROTECT, related_name="versions")
    number = models.PositiveIntegerField(_("version"))
    what = models.CharField(max_length=16, choices=WHATS)
    #: The version that was brought back.
    earlier = models.PositiveIntegerField(null=True, blank=True)
    toml = models.TextField()
    made_at = models.DateTimeField(auto_now_add=True)
    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")

    class Meta:
        """How versions are listed and guarded."""

        ordering: ClassVar = ["-number"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["design", "number"], name="one_version_of_a_number")
        ]

    def __str__(self) -> str:
        return f"{self.design} {self.number}"
