"""Turning a request away before any room sees it: a page for people, a problem for programs."""

from typing import Final

from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import render

#: Programs ask below this address, and get problem documents as RFC 9457 has them.
_PROGRAMS: Final = "/api/"


def turn_away(request: HttpRequest, status: int, title: str, why: str) -> HttpResponse:
    """Answer with one clear line why nothing was done.

    Parameters
    ----------
    request : HttpRequest
        Its body is not read.
    status : int
        The answer's status; the page is the template of that number.
    title, why : str
        What happened, in a few words; and what would be right.
    """
    if request.path.startswith(_PROGRAMS):
        problem = {"type": "about:blank", "title": title, "status": status, "detail": why}
        return JsonResponse(problem, status=status, content_type="application/problem+json")
    return render(request, f"{status}.html", {"why": why, "title": title}, status=status)
