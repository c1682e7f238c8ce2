"""Readings where others look for them: on the certificate, and on the instrument's own page."""

import io
import re

import pypdf
import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils.timezone import localdate

from combwright.shop.register.models import Heard, Take
from shop.bench.days import somebody
from shop.people.persons import text
from shop.tuning.played import a_take, an_instrument

pytestmark = pytest.mark.django_db


@pytest.fixture
def owner(client):
    client.force_login(somebody("owner"))
    return client


def certificate(owner, instrument):
    answer = owner.get(reverse("register:certificate", args=[instrument.serial]))
    pages = pypdf.PdfReader(io.BytesIO(answer.content)).pages
    assert len(pages) == 1
    return " ".join(pages[0].extract_text().replace("\n", " ").split())


def readings_on(said):
    """Return what stands in the column of readings, mark and all."""
    return re.findall(r"([+\u2212]?\d+\.\d) ± (\d\.\d)([*?]*)", said)


def page(owner, instrument):
    return text(owner.get(reverse("register:one", args=[instrument.serial])))


def test_without_readings_nothing_is_said_of_them(owner):
    one = an_instrument()
    assert "±" not in certificate(owner, one)
    assert "±" not in page(owner, one)


def test_the_certificate_shows_the_last_reading_with_covers_on_and_else_off(owner):
    one = an_instrument()
    a_take(one, condition="covered", off={"1 blow": 9.0}.items(), without=("4 draw",))
    a_take(one, condition="covered", off={"1 blow": 2.0}.items(), without=("4 draw",))
    a_take(one, off={"1 blow": -8.0, "4 draw": 1.3}.items())
    Take.objects.filter(condition="covered").update(temperature="20.5")
    Heard.objects.filter(condition="covered").update(temperature="20.5")
    said = certificate(owner, one)
    found = readings_on(said)
    assert len(found) == 20
    assert ("+2.0", "0.2", "") in found
    assert [each for each in found if each[2]] == [("+1.3", "0.2", "*")]
    line = said[said.index("Heard: ") :]
    today = localdate().isoformat()
    assert line.startswith(
        "Heard: cents above the target, ± with 95 % certainty; covers on, * off; by Owner; "
        f"{today}; 20.5 °C."
    )


def test_a_struck_take_and_a_plate_that_was_taken_out_are_not_vouched_for(owner):
    one = an_instrument()
    take = a_take(one)
    one.fitted.filter(hole=1, deck="upper").update(taken_out_at=take.at)
    assert len(readings_on(certificate(owner, one))) == 19
    Take.objects.update(struck_at=take.at)
    assert "Heard" not in certificate(owner, one)


def test_the_instruments_page_shows_the_readings_and_leads_to_tuning(owner, client):
    one = an_instrument()
    a_take(one, off={"4 draw": 6.1}.items())
    shown = owner.get(reverse("register:one", args=[one.serial]))
    assert re.search(r"\+6\.\d\d ± 0\.1\d, covers off", text(shown))
    assert reverse("tuning:one", args=[one.serial]) in shown.content.decode()
    client.force_login(somebody("office"))
    shown = client.get(reverse("register:one", args=[one.serial]))
    assert reverse("tuning:one", args=[one.serial]) not in shown.content.decode()
    assert "± 0.1" in text(shown)


def test_the_pages_take_the_same_queries_after_many_takes(owner):
    one = an_instrument()
    a_take(one)

    def queries():
        counts = []
        for name in ("one", "certificate"):
            where = reverse(f"register:{name}", args=[one.serial])
            owner.get(where)
            with CaptureQueriesContext(connection) as done:
                assert owner.get(where).status_code == 200
            counts.append(len(done))
        return counts

    few = queries()
    rows = list(one.heard.values())
    for n in range(4):
        Heard.objects.bulk_create(
            Heard(**{**row, "id": None, "key": f"{n:08d}-0000-4000-8000-{row['id']:012d}"})
            for row in rows
        )
    assert queries() == few
