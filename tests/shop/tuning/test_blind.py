"""Blind listening: X is drawn by the shop, told by nothing, and judged after the last answer."""

import io
import re
from fractions import Fraction
from math import comb

import numpy as np
import pytest
import soundfile
from django.urls import reverse
from playwright.sync_api import expect

from combwright.files.recordings import pack, unpack
from combwright.shop.register.models import Recording
from combwright.shop.tuning import blind_actions
from combwright.shop.tuning.models import BlindTest
from shop.bench.days import somebody
from shop.people.persons import text
from shop.tuning.played import a_take, an_instrument, hear_all
from shop.tuning.test_takes_in_a_browser import browser, looks_right, opened  # noqa: F401

PLACE = "4 lower draw"
#: The browser may play all three and knows how long they are.
LOADED = "() => [...document.querySelectorAll('audio')].every((each) => each.readyState >= 1)"


@pytest.fixture
def maker(client):
    client.force_login(somebody("maker"))
    return client


def two_takes():
    """Return two takes of an instrument, the second half as loud and 9 cents higher in 4 draw."""
    one = an_instrument()
    a, b = a_take(one), a_take(one, off={"4 draw": 9.0}.items())
    quieter = unpack(bytes(b.recording.data))
    quieter.samples[:] /= 2
    Recording.objects.filter(take=b).update(data=pack(quieter))
    return a, b


def begun(person="maker", trials=5):
    a, b = two_takes()
    return blind_actions.begin(somebody(person), a, b, place=PLACE, trials=trials)


def heard(client, test, which, number=None):
    number = test.number if number is None else number
    return client.get(reverse("tuning:blind-sound", args=[test.pk, number, which]))


def said(client, test, word, number=None):
    return client.post(
        reverse("tuning:blind-answer", args=[test.pk]),
        {"said": word, "number": test.number if number is None else number},
        follow=True,
    )


def samples(answer):
    return soundfile.read(io.BytesIO(answer.content))[0]


@pytest.mark.data
@pytest.mark.django_db
def test_a_test_is_begun_with_a_seat_and_a_number_of_trials(maker):
    a, b = two_takes()
    where = reverse("tuning:blind-begin", args=[a.pk, b.pk])
    page = text(maker.get(where))
    # 2517 of the 65,536 ways to answer 16 times have 12 right or more: 3.8 %; 11 or more, 10.5 %.
    assert "Of 16 trials, 12 right ones or more mean that you hear a difference" in page
    for trials in ("4", "101", "many", ""):
        answer = maker.post(where, {"place": PLACE, "trials": trials})
        assert answer.status_code == 422
    assert maker.post(where, {"place": "11 upper blow", "trials": "5"}).status_code == 422
    answer = maker.post(where, {"place": PLACE, "trials": "5"})
    test = BlindTest.objects.get()
    assert answer.headers["Location"] == reverse("tuning:blind", args=[test.pk])
    assert "Trial 1 of 5" in text(maker.get(answer.headers["Location"]))


@pytest.mark.django_db
def test_nothing_but_the_sound_tells_which_x_is(maker):
    test = begun()
    answers = {which: heard(maker, test, which) for which in "abx"}
    for answer in answers.values():
        assert answer.status_code == 200
        assert dict(answer.items()) == dict(answers["x"].items())
        assert len(answer.content) == len(answers["x"].content)
        assert answer.headers["Cache-Control"].count("no-store")
    assert len({answer.content for answer in answers.values()}) == 3
    page = maker.get(reverse("tuning:blind", args=[test.pk])).content.decode()
    BlindTest.objects.update(drawn="b" if test.drawn == "a" else "a")
    other = maker.get(reverse("tuning:blind", args=[test.pk])).content.decode()
    token = re.compile(r'name="csrfmiddlewaretoken" value="\w+"')
    assert token.sub("", page) == token.sub("", other)


@pytest.mark.django_db
def test_x_sounds_as_what_was_drawn_and_both_are_equally_loud_and_long(maker):
    test = begun()
    a, b, x = (samples(heard(maker, test, which)) for which in "abx")
    near, far = (a, b) if test.drawn == "a" else (b, a)
    step = 1 / 2**15
    assert np.abs(x - near).max() < 4 * step
    assert np.abs(x - far).max() > 100 * step
    assert len(a) == len(b) == len(x)
    levels = [20 * np.log10(np.sqrt(np.mean(np.square(each)))) for each in (a, b)]
    assert levels[0] == pytest.approx(levels[1], abs=0.1)
    assert 0.25 < len(a) / 22_050 < 0.6


@pytest.mark.data
@pytest.mark.django_db
def test_the_result_comes_after_the_last_answer_with_its_chance(maker):
    test = begun(trials=8)
    for number in range(1, 9):
        test.refresh_from_db()
        wrong = {"a": "b", "b": "a"}[test.drawn[-1]]
        page = text(said(maker, test, wrong if number == 3 else test.drawn[-1]))
        assert ("right or more" in page) == (number == 8)
    # 7 or 8 right of 8: (8 + 1) of 256 ways.
    chance = Fraction(comb(8, 7) + 1, 2**8)
    assert "7 of 8 right" in page
    assert "You hear a difference." in page
    assert f"in one of {round(1 / chance)} tests (p = {float(chance):.4f}" in page
    where = reverse("tuning:blind-begin", args=[test.a_id, test.b_id])
    assert "Maker 4 lower draw 7 of 8" in text(maker.get(where))


@pytest.mark.django_db
def test_guessing_is_told_as_not_enough(maker):
    test = begun(trials=6)
    for right in (True, False) * 3:
        test.refresh_from_db()
        drawn = test.drawn[-1]
        page = text(said(maker, test, drawn if right else {"a": "b", "b": "a"}[drawn]))
    assert "3 of 6 right" in page
    assert "not enough to say that you hear a difference" in page
    assert "in 66 of 100 tests (p = 0.6563" in page  # 42 of 64
    assert "6 of 6 are needed" in page


@pytest.mark.data
@pytest.mark.django_db
def test_an_answer_counts_once_and_x_of_another_trial_is_not_to_be_had(maker, client):
    test = begun()
    said(maker, test, "a", number=1)
    page = text(said(maker, test, "b", number=1))
    test.refresh_from_db()
    assert test.answers == "a"
    assert "Trial 1 is not the one that is asked now" in page
    for number, word in ((2, "c"), ("", "a"), (9, "a")):
        said(maker, test, word, number=number)
    test.refresh_from_db()
    assert test.answers == "a"
    assert [heard(maker, test, "x", number=n).status_code for n in (1, 2, 3)] == [404, 200, 404]
    assert heard(maker, test, "y").status_code == 404
    client.force_login(somebody("owner"))
    assert client.get(reverse("tuning:blind", args=[test.pk])).status_code == 404
    assert heard(client, test, "x").status_code == 404


@pytest.mark.django_db
def test_x_is_drawn_anew_and_fairly():
    test = begun(trials=100)
    for number in range(1, 101):
        test = blind_actions.answer(test, number, "a")
    assert len(test.drawn) == 100
    assert test.drawn.count("a") == test.right
    # Of a fair coin fewer than 20 or more than 80 of 100 come once in a thousand million.
    assert 20 <= test.right <= 80


@pytest.mark.journey
@pytest.mark.django_db(transaction=True)
def test_a_blind_test_is_done_to_its_end_in_a_browser(browser, live_server):  # noqa: F811
    a, b = two_takes()
    page = opened(browser, live_server)
    page.goto(reverse("tuning:against", args=[a.pk, b.pk]))
    assert looks_right(page, "against")
    page.get_by_role("button", name="Compare their sound").click()
    expect(page.get_by_text("waits for a worker")).to_be_visible()
    hear_all()
    expect(page.get_by_text("3 cents at 95 %: 0 of 20 notes.")).to_be_visible()
    assert looks_right(page, "compared")
    page.get_by_role("link", name="Listen blind").click()
    assert looks_right(page, "blind-begin")
    page.get_by_label("Seat").select_option(PLACE)
    page.get_by_label("Trials").fill("5")
    page.get_by_role("button", name="Begin").click()
    for number in range(1, 6):
        expect(page.get_by_role("heading", name=f"Trial {number} of 5")).to_be_visible()
        page.wait_for_function(LOADED)
        for name in ("A", "X", "B"):
            page.get_by_role("button", name=f"Play {name}").click()
        expect(page.locator("[data-failure]")).to_be_hidden()
        if number == 1:
            assert looks_right(page, "blind")
        drawn = BlindTest.objects.get().drawn[-1]
        page.get_by_role("button", name=f"X is {drawn.upper()}").click()
    expect(page.get_by_role("heading", name="5 of 5 right")).to_be_visible()
    expect(page.get_by_text("You hear a difference.")).to_be_visible()
    expect(page.get_by_text("in one of 32 tests (p = 0.0313")).to_be_visible()
    assert looks_right(page, "blind-result")
    page.context.close()
