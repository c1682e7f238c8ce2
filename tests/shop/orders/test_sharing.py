from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from combwright.shop.orders import actions, sharing
from combwright.shop.orders.models import Share
from combwright.shop.orders.queries import changed_since_yes, shown_mark
from combwright.shop.orders.states import State
from shop.orders.shelf import a_customer, a_draft, again, text
from shop.rack.shelves import somebody

pytestmark = [pytest.mark.django_db, pytest.mark.data]


def shared(order, days=7):
    return sharing.make_share(order, somebody(), days)


def address(token):
    return f"{reverse('orders:shared')}?key={token}"


def yes(client, token, order, **more):
    given = {"seen": shown_mark(again(order)), "name": "Ida", "words": "please", **more}
    return client.post(address(token), given)


def test_only_the_digest_of_a_link_is_kept():
    token = shared(a_draft("W-1"))
    assert token not in str(list(Share.objects.values()))
    assert len(token) > 40
    assert sharing.opened(token).order.number == "W-1"


def test_the_customer_looks_without_logging_in_and_sees_what_is_made(client):
    order = a_draft(
        "W-1", {"key": "A", "layout": "third-blow-raised", "kit": "5 draw"},
        customer=a_customer(email="ida@example.org"), note="hard to please", value=777, price=None,
    )  # fmt: skip
    page = client.get(address(shared(order)))
    said = text(page)
    assert page.status_code == 200
    assert "Key of A, third blow raised" in said
    assert "F#5" in said
    assert "<svg" in said
    assert "5 draw" in said
    for kept_back in ("hard to please", "777", "example.org", "Ida Morrow", "Price"):
        assert kept_back not in said
    assert "noindex" in page.headers["X-Robots-Tag"]
    assert page.headers["Referrer-Policy"] == "strict-origin"
    assert "no-store" in page.headers["Cache-Control"]


def test_a_price_is_shown_once_it_is_set(client):
    assert "180.50" in text(client.get(address(shared(a_draft("W-1", price="180.50")))))


def test_the_yes_is_written_down_once_with_its_time_and_words(client):
    order = a_draft("W-1")
    token = shared(order)
    assert yes(client, token, order).status_code == 302
    found = Share.objects.get()
    assert (found.yes_name, found.yes_words, found.yes_mark) == (
        "Ida", "please", shown_mark(order),
    )  # fmt: skip
    assert "you said yes to this" in text(client.get(address(token)))
    twice = yes(client, token, order, name="Mallory")
    assert twice.status_code == 422
    assert "already" in text(twice)
    assert Share.objects.get().yes_name == "Ida"
    assert order.steps.filter(words__contains="said yes").count() == 1


def test_a_yes_to_what_was_changed_meanwhile_is_not_taken(client):
    order = a_draft("W-1")
    token, seen = shared(order), shown_mark(order)
    actions.change_order(order, somebody(), {"price": 99}, seen=1)
    answer = yes(client, token, order, seen=seen)
    assert answer.status_code == 422
    assert "changed" in text(answer)
    assert 'value="Ida"' in text(answer)
    assert Share.objects.get().yes_at is None


def test_the_order_says_when_it_was_changed_after_the_yes(client):
    order = a_draft("W-1")
    token = shared(order)
    yes(client, token, order)
    actions.open_order(order, somebody())
    assert not changed_since_yes(Share.objects.get(), again(order))
    for facts in ({"priority": 1}, {"note": "pinned, and asked for by telephone"}):
        actions.change_order(order, somebody(), facts, seen=again(order).version)
        assert not changed_since_yes(Share.objects.get(), again(order))
    actions.change_order(order, somebody(), {"price": 99}, seen=again(order).version)
    assert changed_since_yes(Share.objects.get(), again(order))
    assert "has changed the order since" in text(client.get(address(token)))
    client.force_login(somebody())
    page = text(client.get(reverse("orders:one", args=["W-1"])))
    assert "the order was changed after that" in page
    client.logout()
    assert yes(client, token, order, name="Ida M.").status_code == 302
    assert not changed_since_yes(Share.objects.get(), again(order))


def test_links_that_are_over_say_so_plainly(client):
    order = a_draft("W-1")
    late, gone = shared(order), shared(order)
    Share.objects.filter(pk=sharing.opened(late).pk).update(
        expires_at=timezone.now() - timedelta(seconds=1)
    )
    sharing.withdraw_share(sharing.opened(gone), somebody())
    for token, status, why in [
        (late, 410, "time is over"), (gone, 410, "withdrawn"), ("x", 404, "opens nothing"),
        ("", 404, "opens nothing"),
    ]:  # fmt: skip
        for answer in (client.get(address(token)), yes(client, token, order)):
            assert answer.status_code == status
            assert why in text(answer)
            assert "noindex" in answer.headers["X-Robots-Tag"]
    assert not Share.objects.exclude(yes_at=None).exists()


def test_a_cancelled_order_takes_no_yes_and_no_new_link(client):
    order = a_draft("W-1")
    token = shared(order)
    actions.advance(actions.locked(order), State.CANCELLED, somebody(), "cancelled")
    assert "is cancelled" in text(client.get(address(token)))
    assert yes(client, token, order).status_code == 422
    with pytest.raises(actions.NotSo, match="cancelled"):
        shared(order)


@pytest.mark.parametrize("days", [0, -1, 91, 10**9])
def test_a_link_is_good_for_some_days_only(days):
    with pytest.raises(actions.NotSo, match="1 to 90 days"):
        shared(a_draft(), days)


def test_no_token_is_written_into_the_log(client, caplog):
    order = a_draft("W-1")
    token = shared(order)
    client.get(address(token))
    yes(client, token, order, name="")
    sharing.withdraw_share(Share.objects.get(), somebody())
    client.get(address(token))
    assert "/orders/shared/" in caplog.text
    assert token not in caplog.text


def test_the_office_makes_a_link_sees_it_once_and_withdraws_it(client):
    a_draft("W-1/2")
    client.force_login(somebody("office"))
    page = reverse("orders:share", args=["W-1/2"])
    answer = client.post(page, {"days": 3})
    link = answer.context["link"]
    assert link.startswith("http://testserver/orders/shared/?key=")
    assert link in text(answer)
    assert link.partition("=")[2] not in text(client.get(page))
    client.post(reverse("orders:share-withdraw", args=[Share.objects.get().pk]))
    assert client.get(link).status_code == 410
    wrong = client.post(page, {"days": "many"})
    assert wrong.status_code == 422
