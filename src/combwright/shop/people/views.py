"""The door's pages and one's own: log in, log out, one's password, what each role may do."""

from collections.abc import Callable
from typing import Any, Final
from urllib.parse import urlencode

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from combwright.shop.people import actions, entering, queries
from combwright.shop.people.door import ShopRequest, where_next
from combwright.shop.people.forms import ChangePasswordForm, FirstForm, LoginForm, NewPasswordForm
from combwright.shop.people.models import Person
from combwright.shop.people.refusals import LinkRefused, Refused, Wait

Page = Callable[..., HttpResponse]
#: The token is asked for (`?key=`) and not part of the path: paths are written into logs.
KEY: Final = "key"


def secret_page(view: Page) -> Page:
    """Keep a page with secrets out of caches, and what is typed on it out of error reports."""
    plain = require_http_methods(["GET", "HEAD", "POST"])(view)
    return never_cache(sensitive_post_parameters()(plain))


def link_address(token: str) -> str:
    """Return the path and query of the page that a one-time link opens."""
    return reverse("people:link") + "?" + urlencode({KEY: token})


def posted(request: HttpRequest) -> Any:
    """Return what was filled in, or None where a page is only looked at."""
    return request.POST if request.method == "POST" else None


def status(request: HttpRequest) -> int:
    """Return the status of a page with a form: one that is shown again was not accepted."""
    return 422 if request.method == "POST" else 200


@secret_page
def first(request: HttpRequest) -> HttpResponse:
    """Make the owner, on the first run."""
    if Person.objects.exists():
        return redirect("people:login")
    form = FirstForm(posted(request))
    if form.is_valid():
        said = form.cleaned_data
        try:
            owner = actions.first_owner(said["name"], said["full_name"], said["password"])
        except Refused as error:
            form.add_error(None, str(error))
        else:
            entering.enter(request, owner)
            messages.success(request, _("The shop is yours, %s.") % owner)
            return redirect(where_next(request))
    return render(request, "people/first.html", {"form": form}, status=status(request))


@secret_page
def log_in(request: HttpRequest) -> HttpResponse:
    """Let somebody in by name and password."""
    if request.user.is_authenticated:
        return redirect(where_next(request))
    if not Person.objects.exists():
        return redirect("people:first")
    form, answered, seconds = LoginForm(posted(request)), status(request), 0
    if form.is_valid():
        try:
            entering.log_in(request, form.cleaned_data["name"], form.cleaned_data["password"])
        except Wait as error:
            form.add_error(None, str(error))
            answered, seconds = 429, error.seconds
        except Refused as error:
            form.add_error(None, str(error))
        else:
            return redirect(where_next(request))
    page = render(request, "people/login.html", {"form": form}, status=answered)
    if seconds:
        page.headers["Retry-After"] = str(seconds)
    return page


@secret_page
def link(request: HttpRequest) -> HttpResponse:
    """Show who a one-time link lets in; its button does it, once."""
    token = request.GET.get(KEY, "")
    try:
        found = queries.open_link(token)
        form = NewPasswordForm(posted(request), person=found.person)
        if request.method == "POST" and (form.is_valid() or not found.chooses_password):
            chosen = form.cleaned_data["password"] if found.chooses_password else ""
            entering.enter_by_link(request, token, new_password=chosen)
            return redirect(where_next(request))
    except LinkRefused as error:
        return render(request, "people/link_refused.html", {"why": str(error)}, status=410)
    context = {"link": found, "form": form if found.chooses_password else None}
    return render(request, "people/link.html", context, status=status(request))


@require_POST
def log_out(request: ShopRequest) -> HttpResponse:
    """End the session on this device."""
    entering.log_out(request)
    return redirect("people:login")


@secret_page
def me(request: ShopRequest) -> HttpResponse:
    """Show one's own page; a POST changes one's password."""
    form, answered = ChangePasswordForm(posted(request), person=request.user), status(request)
    if form.is_valid():
        try:
            said = form.cleaned_data
            entering.change_password(request, said["old"], said["password"])
        except Wait as error:
            form.add_error("old", str(error))
            answered = 429
        except Refused:
            form.add_error("old", _("This is not your password until now."))
        else:
            messages.success(
                request, _("Your password is changed; your other devices have to log in again.")
            )
            return redirect("people:me")
    return render(request, "people/me.html", {"form": form}, status=answered)


@require_POST
def leave(request: ShopRequest) -> HttpResponse:
    """End one's sessions on all devices."""
    entering.leave_all_devices(request)
    messages.success(request, _("You have left all devices. Log in again where you work."))
    return redirect("people:login")


@require_safe
def roles(request: ShopRequest) -> HttpResponse:
    """Show what each role may do."""
    context = {"rights": queries.rights(), "roles": queries.role_names()}
    return render(request, "people/roles.html", context)
