import cv2
import numpy as np
import pytest
import segno
from django.urls import reverse
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from combwright.shop.look.guard import ABILITIES
from combwright.shop.papers.written import address
from combwright.shop.people.roles import Role
from combwright.shop.rack import plate_actions
from combwright.shop.rack.models import Bin, Item
from shop.rack.shelves import a_bin, somebody

pytestmark = pytest.mark.django_db
SCAN = "/papers/scan/"
ORIGIN = "http://192.168.1.20:8000"


def text(response):
    return " ".join(response.content.decode().split())


@pytest.mark.parametrize(
    "typed",
    [
        "A-1", " A-1 ", "a-1", "B:A-1", "b:A-1", f"{ORIGIN}/papers/s/b/A-1", "/papers/s/b/A-1",
        "https://elsewhere.lan/papers/s/b/A-1",
    ],
)  # fmt: skip
def test_what_a_hand_scanner_types_opens_the_bin(owner, typed):
    a_bin("A-1")
    answer = owner.post(SCAN, {"text": typed})
    assert answer.status_code == 302
    assert answer["Location"] == reverse("rack:bin", args=["A-1"])


def test_each_kind_of_thing_is_opened(owner):
    here = a_bin("A-1", 1, batch="lot 7")
    plate = plate_actions.label_plates(here, 1)[0]
    Item.objects.create(code="cover upper", kind="part", part="cover")
    for typed, page in [
        ("lot 7", reverse("rack:batch", args=["lot 7"])),
        (plate.code.lower(), reverse("papers:plate", args=[plate.code])),
        (f"P:{plate.code}", reverse("papers:plate", args=[plate.code])),
        (address(ORIGIN, "t", "lot 7"), reverse("rack:batch", args=["lot 7"])),
    ]:
        assert owner.post(SCAN, {"text": typed})["Location"] == page
    assert owner.post(SCAN, {"text": "I:cover upper"}).status_code == 302


def test_a_code_that_several_things_have_asks_which(owner):
    a_bin("X-1", batch="X-1")
    answer = owner.post(SCAN, {"text": "x-1"})
    assert answer.status_code == 200
    assert "Which one?" in text(answer)
    for page in ("rack:bin", "rack:batch"):
        assert reverse(page, args=["X-1"]) in text(answer)
    assert owner.post(SCAN, {"text": "T:X-1"})["Location"] == reverse("rack:batch", args=["X-1"])


def test_a_code_that_names_nothing_says_so_and_waits_for_the_next(owner):
    answer = owner.post(SCAN, {"text": "<b>A-9"})
    assert answer.status_code == 404
    assert "Nothing here is called “&lt;b&gt;A-9”." in text(answer)
    assert "autofocus" in text(answer)
    assert owner.post(SCAN, {"text": " "}).status_code == 422


def test_a_slip_in_a_plate_s_code_is_told_apart_from_a_plate_that_is_not_there(owner):
    here = a_bin("A-1", 1)
    code = plate_actions.label_plates(here, 1)[0].code
    slip = code[:-1] + ("2" if code[-1] != "2" else "3")
    assert "it has a slip" in text(owner.post(SCAN, {"text": slip}))


def test_a_scanner_that_types_for_another_keyboard_is_named(owner):
    answer = owner.post(SCAN, {"text": "httpÖ--192.168.1.20-papers-s-b-Aß1"})
    assert "types for another keyboard" in text(answer)


def test_an_address_of_something_that_is_gone_says_what_it_was(owner):
    answer = owner.get("/papers/s/b/A%2F9")
    assert answer.status_code == 404
    assert "Nothing here is called “A/9”." in text(answer)
    assert owner.get("/papers/s/x/A-1").status_code == 404


def test_a_label_opens_its_thing_after_logging_in(client):
    a_bin("A/1 ä")
    somebody("packer")
    door = client.get("/papers/s/b/A%2F1%20%C3%A4", follow=True)
    said = {"username": "packer", "name": "packer", "password": "a long enough password"}
    answer = client.post(door.redirect_chain[-1][0], said, follow=True)
    assert answer.redirect_chain[-1][0] == reverse("rack:bin", args=["A/1 ä"])
    assert "Bin A/1 ä" in text(answer)


codes = st.text(
    st.characters(codec="utf-8", exclude_categories=["C", "Z"]), min_size=1, max_size=40
)


@settings(max_examples=150, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(codes)
def test_every_code_s_address_opens_its_bin(owner, code):
    made = Bin.objects.filter(code=code).first() or a_bin(code)
    path = address(ORIGIN, "b", code).removeprefix(ORIGIN)
    answer = owner.get(path)
    assert answer.status_code == 302
    assert answer["Location"] == reverse("rack:bin", args=[made.code])


def picture(content, *, scale=4, turn=0.0, noise=0, shape=(480, 640)):
    """A grey picture with a QR code in its middle."""
    code = np.array([list(row) for row in segno.make(content, micro=False).matrix], np.uint8)
    marks = np.kron(np.pad(1 - code, 4, constant_values=1) * 215 + 20, np.ones((scale, scale)))
    seen = np.full(shape, 180, np.float32)
    top, left = ((whole - part) // 2 for whole, part in zip(shape, marks.shape, strict=True))
    seen[top : top + marks.shape[0], left : left + marks.shape[1]] = marks
    if turn:
        middle = (shape[1] / 2, shape[0] / 2)
        bent = cv2.getRotationMatrix2D(middle, turn, 1)
        seen = cv2.warpAffine(seen, bent, shape[::-1], borderMode=cv2.BORDER_REPLICATE)
    seen += np.random.default_rng(7).normal(0, noise, shape)
    return np.clip(seen, 0, 255).astype(np.uint8)


def shown(client, seen, **query):
    height, width = seen.shape
    asked = {"width": width, "height": height, **query}
    address = reverse("papers:frame", query=asked)
    return client.post(address, seen.tobytes(), content_type="application/octet-stream")


@pytest.mark.parametrize(
    "seen",
    [
        {}, {"turn": 30}, {"turn": 90}, {"turn": 205}, {"noise": 35}, {"scale": 2},
        {"scale": 2, "noise": 12, "turn": 12}, {"shape": (1280, 1280), "scale": 3},
    ],
)  # fmt: skip
def test_a_frame_with_a_label_answers_where_to_go(owner, seen):
    a_bin("A-1")
    answer = shown(owner, picture(f"{ORIGIN}/papers/s/b/A-1", **seen))
    assert answer.status_code == 200
    assert answer.json() == {"address": reverse("rack:bin", args=["A-1"]), "words": "bin A-1"}


def test_a_frame_without_a_code_answers_nothing(owner):
    noise = np.random.default_rng(3).integers(0, 255, (480, 640), np.uint8)
    for seen in (noise, np.zeros((2, 3), np.uint8)):
        answer = shown(owner, seen)
        assert (answer.status_code, answer.content) == (204, b"")


def test_a_code_of_somebody_else_is_told_without_leaving_the_camera(owner):
    answer = shown(owner, picture("https://elsewhere.example/spec"))
    assert answer.json() == {"words": "Nothing here is called “https://elsewhere.example/spec”."}


def test_a_bare_code_that_several_things_have_leads_to_the_page_that_asks(owner):
    a_bin("X-1", batch="X-1")
    asked = shown(owner, picture("X-1")).json()["address"]
    assert "Which one?" in text(owner.get(asked))


@pytest.mark.parametrize(
    "query",
    [
        {"width": 1281, "height": 1}, {"width": 0, "height": 0}, {"width": "x"}, {"width": -640},
        {"width": 641}, {"width": "1e3"},
    ],
)  # fmt: skip
def test_a_frame_of_the_wrong_size_is_refused(owner, query):
    answer = shown(owner, picture("A-1"), **query)
    assert answer.status_code == 400
    assert "1 to 1280 pixels" in answer.json()["words"]


def test_what_the_browser_read_itself_goes_the_same_way(owner):
    a_bin("A-1")
    ask = lambda text: owner.post(reverse("papers:said"), {"text": text})  # noqa: E731
    assert ask(f"{ORIGIN}/papers/s/b/A-1").json()["address"] == reverse("rack:bin", args=["A-1"])
    assert "Nothing here" in ask("A-9").json()["words"]
    assert ask("").status_code == 204


@pytest.mark.parametrize("role", list(Role))
def test_everyone_may_scan(client, role):
    client.force_login(somebody(role))
    a_bin("A-1")
    assert client.get(SCAN).status_code == 200
    assert client.post(SCAN, {"text": "A-1"}).status_code == 302
    assert shown(client, picture("A-1")).status_code == 200


def test_nobody_scans_without_logging_in_and_frames_need_the_page_s_token(client):
    a_bin("A-1")
    assert shown(client, picture("A-1")).status_code == 302
    from django.test import Client

    strict = Client(enforce_csrf_checks=True)
    strict.force_login(somebody())
    assert shown(strict, picture("A-1")).status_code == 403
    assert strict.post(reverse("papers:said"), {"text": "A-1"}).status_code == 403


def test_only_the_page_that_scans_may_use_the_camera(owner):
    a_bin("A-1")
    assert owner.get(SCAN)["Permissions-Policy"].startswith("camera=(self)")
    assert owner.post(SCAN, {"text": "A-9"})["Permissions-Policy"].startswith("camera=(self)")
    for page in ("/rack/bins/", "/papers/labels/", "/rack/bin/A-1/"):
        assert owner.get(page)["Permissions-Policy"] == ABILITIES
    assert "camera=()" in ABILITIES
