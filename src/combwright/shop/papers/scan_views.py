"""Scanning: a label's code, typed by hand or a scanner or seen by a camera, opens its thing."""

from collections.abc import Sequence
from typing import Final

import numpy as np
import zxingcpp
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.http import urlencode
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from combwright.shop.papers.forms import ScanForm
from combwright.shop.papers.found import Thing, nothing_is_called, thing, things
from combwright.shop.papers.written import LETTERS
from combwright.shop.people.door import ShopRequest, needs
from combwright.shop.people.roles import May

#: The largest picture that is looked through, each way, in pixels.
MOST_PIXELS: Final = 1280
_MOST_LETTERS: Final = 600
_QR: Final = zxingcpp.barcode_formats_from_str("QRCode")


@require_http_methods(["GET", "HEAD", "POST"])
@needs(May.LOOK)
def scan(request: ShopRequest) -> HttpResponse:
    """Wait for a code; a POST with one goes to the thing it names."""
    if request.method == "POST":
        form = ScanForm(request.POST)
        if form.is_valid():
            return _opened(request, form.cleaned_data["text"])
        return _page(request, form, status=422)
    asked = request.GET.get("text", "")[:_MOST_LETTERS]
    return _opened(request, asked) if asked.strip() else _page(request, ScanForm())


@require_safe
@needs(May.LOOK)
def door(request: ShopRequest, letter: str, code: str) -> HttpResponse:
    """Go to the thing that a label's address names."""
    if letter not in LETTERS:
        return _missed(request, code)
    found = thing(letter, code)
    return redirect(found.address) if found else _missed(request, code)


def _opened(request: ShopRequest, text: str) -> HttpResponse:
    found = things(text)
    if len(found) == 1:
        return redirect(found[0].address)
    if found:
        return _page(request, ScanForm(), several=found)
    return _missed(request, text)


def _missed(request: ShopRequest, text: str) -> HttpResponse:
    return _page(request, ScanForm(), missed=nothing_is_called(text), status=404)


def _page(
    request: ShopRequest,
    form: ScanForm,
    *,
    missed: str = "",
    several: Sequence[Thing] = (),
    status: int = 200,
) -> HttpResponse:
    context = {"form": form, "missed": missed, "several": several, "most_pixels": MOST_PIXELS}
    answer = render(request, "papers/scan.html", context, status=status)
    answer["Permissions-Policy"] = "camera=(self), microphone=(), geolocation=()"
    return answer


@require_POST
@needs(May.LOOK)
def frame(request: ShopRequest) -> HttpResponse:
    """Look for a code in a picture: grey pixels row by row, `width` and `height` in the query.

    Answers 204 where there is none.
    """
    picture = _picture(request)
    if picture is None:
        return JsonResponse(
            {"words": f"A picture is 1 to {MOST_PIXELS} pixels each way, a byte a pixel."},
            status=400,
        )
    codes = zxingcpp.read_barcodes(picture, formats=_QR)
    texts = [code.text for code in codes if code.valid and code.text]
    return _told(texts) if texts else HttpResponse(status=204)


@require_POST
@needs(May.LOOK)
def said(request: ShopRequest) -> HttpResponse:
    """Say where a text leads that the browser itself has read."""
    text = request.POST.get("text", "")[:_MOST_LETTERS]
    return _told([text]) if text.strip() else HttpResponse(status=204)


def _picture(request: HttpRequest) -> "np.ndarray[tuple[int, int], np.dtype[np.uint8]] | None":
    try:
        width, height = int(request.GET["width"]), int(request.GET["height"])
    except (KeyError, ValueError):
        return None
    if not (1 <= width <= MOST_PIXELS and 1 <= height <= MOST_PIXELS):
        return None
    # The length that is announced bounds what is read: more than it is never taken in.
    if request.headers.get("Content-Length") != str(width * height):
        return None
    data = request.body
    if len(data) != width * height:
        return None
    return np.frombuffer(data, np.uint8).reshape(height, width)


def _told(texts: list[str]) -> JsonResponse:
    """Answer with the page of the one thing seen; else with words, or the page that asks which."""
    for text in texts:
        found = things(text)
        if len(found) == 1:
            return JsonResponse({"address": found[0].address, "words": found[0].words})
        if found:
            asked = reverse("papers:scan") + "?" + urlencode({"text": text})
            return JsonResponse({"address": asked})
    return JsonResponse({"words": nothing_is_called(texts[0])})
