"""What people fill in about themselves and one another; passwords are never shown again."""

from typing import Any, Final

from django import forms
from django.contrib.auth.password_validation import (
    password_validators_help_texts,
    validate_password,
)
from django.core.validators import RegexValidator
from django.utils.translation import gettext_lazy as _

from combwright.shop.people.models import Person, tidy_name

#: Longer than anybody types, and short enough to hash.
LONGEST_PASSWORD: Final = 200


class NameField(forms.CharField):
    """A name to log in with, as it is stored."""

    def __init__(self, **options: Any) -> None:
        only = RegexValidator(
            r"\A[\w.@+-]+\Z", _("A name has letters, digits and . - _ @ + only, and no spaces.")
        )
        super().__init__(max_length=60, validators=[only], widget=_name_widget(), **options)

    def to_python(self, value: Any) -> str:
        """Tidy the name before it is checked."""
        return tidy_name(super().to_python(value) or "")


class PasswordField(forms.CharField):
    """A password, taken as it is typed."""

    def __init__(self, *, autocomplete: str, **options: Any) -> None:
        super().__init__(
            max_length=LONGEST_PASSWORD,
            strip=False,
            widget=forms.PasswordInput({"autocomplete": autocomplete}),
            **options,
        )


def _name_widget() -> forms.TextInput:
    return forms.TextInput(
        {"autocomplete": "username", "autocapitalize": "none", "spellcheck": "false"}
    )


class LoginForm(forms.Form):
    """Who is at the door."""

    name = forms.CharField(label=_("Name"), max_length=60, widget=_name_widget())
    password = PasswordField(label=_("Password"), autocomplete="current-password")


class NewPasswordForm(forms.Form):
    """A password that somebody chooses."""

    password = PasswordField(label=_("New password"), autocomplete="new-password")
    again = PasswordField(label=_("The same again"), autocomplete="new-password")

    def __init__(self, *args: Any, person: Person | None = None, **options: Any) -> None:
        super().__init__(*args, **options)
        self.person = person
        said = " ".join(password_validators_help_texts())
        self.fields["password"].help_text = said

    def clean(self) -> dict[str, Any]:
        """Check that it was typed alike twice and is none that others guess."""
        given = self.cleaned_data
        password, again = given.get("password"), given.get("again")
        if password and again and password != again:
            self.add_error("again", _("The two passwords differ; type the same one twice."))
        elif password:
            try:
                validate_password(password, self._whose())
            except forms.ValidationError as error:
                self.add_error("password", error)
        return given

    def _whose(self) -> Person:
        return self.person or Person(
            name=self.cleaned_data.get("name", ""),
            full_name=self.cleaned_data.get("full_name", ""),
        )


class FirstForm(NewPasswordForm):
    """The first owner."""

    name = NameField(label=_("Name to log in with"), help_text=_("Short, such as ida."))
    full_name = forms.CharField(
        label=_("Full name"), max_length=120, widget=forms.TextInput({"autocomplete": "name"})
    )
    field_order = ("full_name", "name", "password", "again")


class ChangePasswordForm(NewPasswordForm):
    """Another password in place of the one that is known."""

    old = PasswordField(label=_("Password until now"), autocomplete="current-password")
    field_order = ("old", "password", "again")


class RoleForm(forms.Form):
    """What somebody does in the shop."""

    role = forms.ChoiceField(label=_("Role"), choices=Person.ROLES, widget=forms.RadioSelect)


class JoinForm(RoleForm):
    """Somebody who is let in."""

    name = NameField(label=_("Name to log in with"), help_text=_("Short, such as ida."))
    full_name = forms.CharField(
        label=_("Full name"), max_length=120, widget=forms.TextInput({"autocomplete": "off"})
    )
    field_order = ("full_name", "name", "role")

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        # Somebody else's name: the browser must not offer one's own.
        self.fields["name"].widget.attrs["autocomplete"] = "off"
