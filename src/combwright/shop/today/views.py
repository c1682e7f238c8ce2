"""The day's page."""

from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from combwright.shop.people.door import ShopRequest, needs
from combwright.shop.people.roles import May
from combwright.shop.today.day import day_of, first_step


@require_safe
@needs(May.LOOK)
def next_things(request: ShopRequest) -> HttpResponse:
    """Show what waits for this person, the most urgent first."""
    step = first_step(request.user)
    context = {
        "step": step,
        "day": None if step else day_of(request.user),
        "today": timezone.localdate(),
    }
    return render(request, "today/next.html", context)
