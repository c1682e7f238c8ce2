"""People, tries to log in, and links that let somebody in once."""

import hashlib
from collections.abc import Iterator
from typing import ClassVar
from unicodedata import normalize

from django.conf import settings
from django.contrib.auth.base_user import AbstractBaseUser, BaseUserManager
from django.db import models
from django.utils import timezone
from django.utils.crypto import salted_hmac
from django.utils.translation import gettext_lazy as _

from combwright.shop.people.roles import Role


def tidy_name(name: str) -> str:
    """Return a name to log in with as it is stored: however it is typed, it is one name."""
    return normalize("NFKC", normalize("NFKC", name).strip().casefold())


class People(BaseUserManager["Person"]):
    """Makes and finds people; passwords are stored hashed."""

    def join(
        self, name: str, full_name: str, role: str, password: str | None, *, founder: bool = False
    ) -> "Person":
        """Let somebody in; without a password there is no way to log in yet."""
        person = self.model(name=tidy_name(name), full_name=full_name, role=role, founder=founder)
        person.set_password(password)
        person.save(using=self._db)
        return person

    def named(self, name: str) -> "Person | None":
        """Find who logs in with a name, however it is typed."""
        return self.filter(name=tidy_name(name)).first()


class Person(AbstractBaseUser):
    """Somebody who works here."""

    ROLES: ClassVar = [
        (Role.OWNER.value, _("Owner")),
        (Role.OFFICE.value, _("Office")),
        (Role.MAKER.value, _("Maker")),
        (Role.PACKER.value, _("Packer")),
    ]

    name = models.CharField(_("name to log in with"), max_length=60, unique=True)
    full_name = models.CharField(_("full name"), max_length=120)
    role = models.CharField(_("role"), max_length=10, choices=ROLES, default=Role.PACKER.value)
    is_active = models.BooleanField(_("may log in"), default=True)
    joined_at = models.DateTimeField(auto_now_add=True)
    #: Part of every session's seal: raising it leaves all devices at once.
    devices_left = models.PositiveIntegerField(default=0)
    #: Who was made on the first run. The database keeps it to one, whoever else comes first too.
    founder = models.BooleanField(default=False)

    USERNAME_FIELD = "name"
    objects = People()

    class Meta:
        """How the table is ordered and guarded."""

        ordering: ClassVar = ["name"]
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=models.Q(role__in=[role.value for role in Role]), name="role_is_known"
            ),
            models.UniqueConstraint(
                fields=["founder"], condition=models.Q(founder=True), name="one_founder"
            ),
        ]

    def __str__(self) -> str:
        return self.full_name

    def get_session_auth_hash(self) -> str:
        """Seal sessions with the password and with how often all devices were left."""
        return self._sealed(None)

    def get_session_auth_fallback_hash(self) -> Iterator[str]:
        """Seal as with the shop's earlier secrets, while they are still honoured."""
        yield from (self._sealed(secret) for secret in settings.SECRET_KEY_FALLBACKS)

    def _sealed(self, secret: str | bytes | None) -> str:
        seal = f"{self.password} {self.devices_left}"
        return salted_hmac("combwright.people", seal, secret, algorithm="sha256").hexdigest()


class Knock(models.Model):
    """A try to log in that failed, or that is being checked.

    The name is kept sealed: people type their password into the wrong field.
    """

    sealed_name = models.CharField(max_length=64)
    address = models.CharField(max_length=64)
    at = models.DateTimeField(default=timezone.now, db_index=True)

    class Meta:
        """How the table is found by."""

        indexes: ClassVar = [
            models.Index(fields=["sealed_name", "at"]),
            models.Index(fields=["address", "at"]),
        ]

    def __str__(self) -> str:
        return f"{self.address} {self.at}"

    @staticmethod
    def seal(name: str) -> str:
        """Return what a name, known or not, is remembered by."""
        tidied = tidy_name(name)
        return salted_hmac("combwright.people.knock", tidied, algorithm="sha256").hexdigest()


class Link(models.Model):
    """A link that lets one person in once; only the digest of its token is kept."""

    digest = models.CharField(max_length=64, unique=True)
    person = models.ForeignKey(Person, models.CASCADE, related_name="links")
    chooses_password = models.BooleanField(default=False)
    made_at = models.DateTimeField(default=timezone.now)
    expires_at = models.DateTimeField(db_index=True)
    used_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        """How links are listed."""

        ordering: ClassVar = ["made_at"]

    def __str__(self) -> str:
        return f"{self.person} {self.expires_at}"

    @staticmethod
    def digest_of(token: str) -> str:
        """Return what a token is found by; it is random and long, so a plain digest is enough."""
        return hashlib.sha256(token.encode()).hexdigest()
