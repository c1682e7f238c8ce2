"""People, and tries to log in."""

from typing import ClassVar

from django.contrib.auth.base_user import AbstractBaseUser, BaseUserManager
from django.db import models
from django.utils.crypto import salted_hmac
from django.utils.translation import gettext_lazy as _

from combwright.shop.people.roles import Role


class People(BaseUserManager["Person"]):
    """Makes people; passwords are stored hashed."""

    def join(self, name: str, full_name: str, role: str, password: str) -> "Person":
        """Let somebody in."""
        person = self.model(name=name, full_name=full_name, role=role)
        person.set_password(password)
        person.save(using=self._db)
        return person


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

    USERNAME_FIELD = "name"
    objects = People()

    class Meta:
        """How the table is ordered and guarded."""

        ordering: ClassVar = ["name"]
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=models.Q(role__in=[role.value for role in Role]), name="role_is_known"
            )
        ]

    def __str__(self) -> str:
        return self.full_name

    def get_session_auth_hash(self) -> str:
        """Seal sessions with the password and with how often all devices were left."""
        return self._sealed(self.password)

    def _sealed(self, password: str) -> str:
        seal = f"{password} {self.devices_left}"
        return salted_hmac("combwright.people", seal, algorithm="sha256").hexdigest()


class Knock(models.Model):
    """A failed try to log in."""

    name = models.CharField(max_length=60)
    address = models.CharField(max_length=64)
    at = models.DateTimeField(auto_now_add=True, db_index=True)

    class Meta:
        """How the table is found by."""

        indexes: ClassVar = [
            models.Index(fields=["name", "at"]),
            models.Index(fields=["address", "at"]),
        ]

    def __str__(self) -> str:
        return f"{self.name} from {self.address}"
