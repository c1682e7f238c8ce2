"""The pages of one answer: how far it is, what came out, a wish made of it, thrown away."""

from typing import Any, Final

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.cache import patch_cache_control
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST, require_safe

from combwright.errors import CombwrightError
from combwright.shop.choosing import actions, queries
from combwright.shop.choosing.forms import PLAYERS
from combwright.shop.choosing.models import Answer
from combwright.shop.choosing.ranking_shown import ranking
from combwright.shop.choosing.swaps_shown import swaps
from combwright.shop.choosing.wish_actions import make_wish, rows_of
from combwright.shop.choosing.wish_forms import WishForm
from combwright.shop.jobs.queries import is_left, job_seen_by, may_watch, nobody_comes
from combwright.shop.orders.models import Order
from combwright.shop.people.door import ShopRequest, needs
from combwright.shop.people.roles import May, allowed

_KEPT_SECONDS: Final = 86_400
#: What the page of an outcome shows, by the kind of answer.
_OUTCOMES: Final = {Answer.MATCH: ranking, Answer.SWAPS: swaps}


def _answer(number: int) -> Answer:
    found = queries.answer_shown(number)
    if found is None:
        raise Http404(_("There is no answer %d; it may have been thrown away.") % number)
    return found


@never_cache
@require_safe
@needs(May.LOOK)
def one(request: ShopRequest, number: int) -> HttpResponse:
    """Show an answer, or how far it is."""
    answer = _answer(number)
    return _shown(request, answer, _wish_form(request, answer))


def _wish_form(request: ShopRequest, answer: Answer, data: Any = None) -> WishForm:
    return WishForm(
        data,
        drafts=queries.drafts_for(answer),
        may_order=allowed(request.user.role, May.ORDER),
        any_key=any(not row["key"] for row in rows_of(answer)),
    )


def _shown(request: ShopRequest, answer: Answer, form: WishForm, refused: str = "") -> HttpResponse:
    context = {"answer": answer, "repertoire": answer.repertoire, "refused": refused}
    if answer.said is None:
        context |= _work(request, answer)
        return render(request, "choosing/work.html", context)
    context |= {
        "stale": answer.version != answer.repertoire.version,
        **_OUTCOMES[answer.kind](answer, queries.wishes_of(answer), request.GET.get("page")),
        "form": form,
        "picture": queries.has_picture(answer),
        "player": dict(PLAYERS).get(answer.asked["player"], answer.asked["player"]),
    }
    status = 422 if refused or form.errors else 200
    return render(request, f"choosing/{answer.kind}_answer.html", context, status=status)


def _work(request: ShopRequest, answer: Answer) -> dict[str, Any]:
    job = answer.job
    if job is None:
        return {"job": None}
    return {
        "job": job,
        "left": is_left(job),
        "nobody_comes": nobody_comes(job),
        "may_stop": job.made_by_id == request.user.pk or may_watch(request.user),
    }


@require_safe
@needs(May.LOOK)
def picture(request: ShopRequest, number: int) -> HttpResponse:
    """Give an answer's picture; it never changes."""
    svg = queries.picture_of(number, narrow=request.GET.get("narrow") == "yes")
    if not svg:
        raise Http404(_("There is no picture of this answer."))
    answer = HttpResponse(svg, content_type="image/svg+xml")
    patch_cache_control(answer, private=True, max_age=_KEPT_SECONDS)
    return answer


@never_cache
@require_safe
@needs(May.LOOK)
def state(request: ShopRequest, number: int) -> HttpResponse:
    """Show how far an answer is, for a page that asks again; at the end, renew the page."""
    answer = queries.answer_shown(number)
    if answer is None or answer.said is not None or answer.job is None or not answer.job.is_open:
        return HttpResponse(headers={"HX-Refresh": "true"})
    return render(request, "choosing/_work.html", {"answer": answer, **_work(request, answer)})


@require_POST
@needs(May.WISH)
def stop(request: ShopRequest, number: int) -> HttpResponse:
    """Have what is being worked out stopped."""
    answer = _answer(number)
    if answer.job_id is not None:
        actions.stop(job_seen_by(request.user, answer.job_id), request.user)
    return redirect("choosing:one", number)


@require_POST
@needs(May.WISH)
def again(request: ShopRequest, number: int) -> HttpResponse:
    """Have the same worked out for the tunes as they are now."""
    answer = _answer(number)
    try:
        made = actions.ask(request.user, answer.repertoire, answer.kind, answer.asked)
    except actions.NotSo as error:
        messages.error(request, str(error))
        return redirect("choosing:one", number)
    return redirect("choosing:one", made.pk)


@require_POST
@needs(May.WISH)
def throw_away(request: ShopRequest, number: int) -> HttpResponse:
    """Throw an answer away."""
    answer = _answer(number)
    actions.throw_away(answer, request.user)
    messages.success(request, _("The answer is thrown away; wishes made of it stay."))
    return redirect(f"choosing:{answer.kind}", answer.repertoire_id)


@require_POST
@needs(May.WISH)
def wish(request: ShopRequest, number: int) -> HttpResponse:
    """Make a wish of one row of an answer, and lead to it."""
    answer = _answer(number)
    form = _wish_form(request, answer, request.POST)
    row = request.POST.get("row", "")
    if not (row.isascii() and row.isdecimal() and len(row) < 9):
        return _shown(request, answer, form, _("Press the button of the row that is meant."))
    if not form.is_valid():
        return _shown(request, answer, form)
    facts = form.facts()
    order = get_object_or_404(Order, number=facts["order"]) if facts["order"] else None
    try:
        made, new = make_wish(request.user, answer, int(row), facts["key"], order)
    except CombwrightError as error:
        return _shown(request, answer, form, str(error))
    if new:
        messages.success(request, _("A wish is made of it, in draft order %s.") % made.order)
    else:
        messages.info(request, _("A wish was made of it before, in order %s: this is it.")
                      % made.order)  # fmt: skip
    return redirect("orders:wish", made.pk)
