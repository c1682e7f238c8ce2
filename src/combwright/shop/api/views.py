"""The pages about the API: what can be asked, what goes wrong, and the tokens that let in."""

from typing import Any, Final

from django.conf import settings
from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.csrf import csrf_exempt
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from combwright.shop.api import actions, problems, queries, reference
from combwright.shop.api.document import openapi
from combwright.shop.api.forms import TokenForm
from combwright.shop.api.gate import opened
from combwright.shop.api.problems import Problem, as_response
from combwright.shop.people.door import ShopRequest, needs, own_door
from combwright.shop.people.refusals import Refused
from combwright.shop.people.roles import May

PAGE: Final = 50


@require_safe
def home(request: ShopRequest) -> HttpResponse:
    """Show what programs can ask, with lines to try."""
    base = f"{request.scheme}://{request.get_host()}"
    context = {"groups": reference.groups(base), "about": openapi()["info"]["description"]}
    return render(request, "api/home.html", context)


@own_door
@require_safe
def document(request: HttpRequest) -> HttpResponse:
    """Send the OpenAPI document to somebody who is logged in, or to a program with a token."""
    if not request.user.is_authenticated:
        _scheme, _blank, text = request.headers.get("Authorization", "").partition(" ")
        try:
            opened(request, text.strip())
        except Problem as problem:
            return as_response(request, problem)
    return JsonResponse(openapi(), json_dumps_params={"indent": 1})


@require_safe
def all_problems(request: ShopRequest) -> HttpResponse:
    """Explain every kind of problem."""
    return render(request, "api/problems.html", {"kinds": problems.KINDS})


@own_door
@csrf_exempt
def nothing_there(request: HttpRequest) -> HttpResponse:
    """Tell a program that an address is none of the API's."""
    text = _("There is nothing at %(path)s; the page of the API lists every address.")
    return as_response(request, Problem(problems.NOT_THERE, text % {"path": request.path}))


@require_safe
@needs(May.CONNECT)
def tokens(request: ShopRequest) -> HttpResponse:
    """List the tokens: one's own, and everybody's for the owner."""
    page = Paginator(queries.tokens_seen_by(request.user), PAGE).get_page(request.GET.get("page"))
    return render(request, "api/tokens.html", {"page": page, "practice": _practice()})


def _practice() -> bool:
    return bool(getattr(settings, "PRACTICE", False))


@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
@needs(May.CONNECT)
def make_token(request: ShopRequest) -> HttpResponse:
    """Let a program in; its token is shown on the answer, and never again."""
    posted = request.method == "POST"
    form = TokenForm(request.POST if posted else None, role=request.user.role)
    if form.is_valid():
        said: dict[str, Any] = form.cleaned_data
        try:
            token, text = actions.make_token(
                request.user, said["name"], said["scopes"], said["until"]
            )
        except Refused as error:
            form.add_error(None, str(error))
        else:
            return render(request, "api/token_once.html", {"token": token, "text": text})
    return render(request, "api/make_token.html", {"form": form}, status=422 if posted else 200)


@require_POST
@needs(May.CONNECT)
def revoke_token(request: ShopRequest, number: int) -> HttpResponse:
    """Make a token open nothing any more."""
    token = get_object_or_404(queries.tokens_seen_by(request.user), pk=number)
    actions.revoke(request.user, token)
    messages.success(request, _("The token of %s opens nothing any more.") % token.name)
    return redirect("api:tokens")
