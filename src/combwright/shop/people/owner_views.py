"""The owner's pages about people: who is here, letting somebody in, roles, barring."""

from collections.abc import Callable
from typing import Final

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from combwright.shop.people import actions
from combwright.shop.people.door import ShopRequest, needs
from combwright.shop.people.forms import JoinForm, RoleForm
from combwright.shop.people.models import Person
from combwright.shop.people.refusals import Refused
from combwright.shop.people.roles import May
from combwright.shop.people.views import link_address, posted, status

form_page: Final = require_http_methods(["GET", "HEAD", "POST"])


@require_safe
@needs(May.PEOPLE)
def everybody(request: ShopRequest) -> HttpResponse:
    """List everybody, those who are barred too."""
    people = Person.objects.order_by("-is_active", "name")
    return render(request, "people/list.html", {"people": people})


@never_cache
@form_page
@needs(May.PEOPLE)
def join(request: ShopRequest) -> HttpResponse:
    """Let somebody in."""
    form = JoinForm(posted(request))
    if form.is_valid():
        said = form.cleaned_data
        try:
            person, token = actions.join(
                request.user, said["name"], said["full_name"], said["role"]
            )
        except Refused as error:
            form.add_error("name", str(error))
        else:
            return _shown_once(request, person, token)
    return render(request, "people/join.html", {"form": form}, status=status(request))


def _shown_once(request: ShopRequest, person: Person, token: str) -> HttpResponse:
    """Show a link. No redirect: the token would have to be kept somewhere for the next page."""
    context = {
        "person": person,
        "address": request.build_absolute_uri(link_address(token)),
        "hours": actions.INVITED_HOURS,
    }
    return render(request, "people/invited.html", context)


@form_page
@needs(May.PEOPLE)
def one(request: ShopRequest, number: int) -> HttpResponse:
    """Show somebody; a POST changes the role."""
    person = get_object_or_404(Person, pk=number)
    form = RoleForm(posted(request), initial={"role": person.role})
    if form.is_valid():
        try:
            actions.change_role(request.user, person, form.cleaned_data["role"])
        except Refused as error:
            form.add_error(None, str(error))
        else:
            messages.success(request, _("%s has the role that you chose.") % person)
            # Who gives up being an owner may not look at this page any more.
            mine = person.pk == request.user.pk
            return redirect("people:me") if mine else redirect("people:one", person.pk)
    return _page(request, person, form)


def _page(request: ShopRequest, person: Person, form: RoleForm) -> HttpResponse:
    context = {"person": person, "form": form}
    return render(request, "people/one.html", context, status=status(request))


@require_POST
@needs(May.PEOPLE)
def bar(request: ShopRequest, number: int) -> HttpResponse:
    """Keep somebody out."""
    return _done(request, number, actions.bar, _("%s is barred, on every device."))


@require_POST
@needs(May.PEOPLE)
def unbar(request: ShopRequest, number: int) -> HttpResponse:
    """Let somebody log in again."""
    return _done(request, number, actions.unbar, _("%s may log in again."))


def _done(
    request: ShopRequest, number: int, act: Callable[[Person, Person], None], done: str
) -> HttpResponse:
    person = get_object_or_404(Person, pk=number)
    try:
        act(request.user, person)
    except Refused as error:
        return _refused(request, person, error)
    messages.success(request, done % person)
    return redirect("people:one", person.pk)


def _refused(request: ShopRequest, person: Person, error: Refused) -> HttpResponse:
    form = RoleForm({"role": person.role})
    form.add_error(None, str(error))
    return _page(request, person, form)


@never_cache
@require_POST
@needs(May.PEOPLE)
def invite_again(request: ShopRequest, number: int) -> HttpResponse:
    """Give somebody a new link to choose a password on."""
    person = get_object_or_404(Person, pk=number)
    try:
        token = actions.invite_again(request.user, person)
    except Refused as error:
        return _refused(request, person, error)
    return _shown_once(request, person, token)
