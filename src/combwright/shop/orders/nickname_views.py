"""What people here call layouts: listed, added, removed."""

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from combwright.errors import CombwrightError
from combwright.shop.orders import nickname_actions, queries
from combwright.shop.orders.models import Nickname
from combwright.shop.orders.page_forms import NicknameForm
from combwright.shop.orders.views import form_page, posted, status
from combwright.shop.people.door import ShopRequest, needs
from combwright.shop.people.roles import May, allowed


@form_page
@needs(May.LOOK)
def listed(request: ShopRequest) -> HttpResponse:
    """List the nicknames; a POST adds one."""
    if request.method == "POST" and not allowed(request.user.role, May.WISH):
        raise PermissionDenied(_("Your role may not change nicknames; ask the owner."))
    form = NicknameForm(posted(request))
    if form.is_valid():
        said = form.cleaned_data
        try:
            nickname_actions.add_nickname(request.user, said["word"], said["layout"])
        except CombwrightError as error:
            form.add_error(None, str(error))
        else:
            messages.success(request, _("%s is added.") % said["word"])
            return redirect("orders:nicknames")
    nicknames = list(Nickname.objects.all())
    titles = queries.layout_titles(each.layout for each in nicknames)
    meanings = [each.word.casefold() for each in nicknames]
    rows = [(each, titles[each.layout], meanings.count(each.word.casefold())) for each in nicknames]
    context = {"form": form, "rows": rows}
    return render(request, "orders/nicknames.html", context, status=status(request))


@require_POST
@needs(May.WISH)
def remove(request: ShopRequest, key: int) -> HttpResponse:
    """Let a word mean a layout no more."""
    nickname = get_object_or_404(Nickname, pk=key)
    word = nickname.word
    nickname_actions.remove_nickname(request.user, nickname)
    messages.success(request, _("%s is removed.") % word)
    return redirect("orders:nicknames")
