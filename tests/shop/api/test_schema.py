"""Thousands of requests made from the document: nothing breaks, and nothing differs from it.

Each is checked in every way schemathesis knows. COMBWRIGHT_EXAMPLES asks for more of them.
"""

import os

import pytest
import schemathesis
from django.core.signals import request_finished, request_started
from django.core.wsgi import get_wsgi_application
from django.db import close_old_connections
from django.test import override_settings
from hypothesis import HealthCheck, settings
from schemathesis.config import SchemathesisConfig

from combwright.shop.api.document import openapi
from combwright.shop.api.models import Answered
from combwright.shop.people import patience
from combwright.shop.plans.faults import faults
from combwright.shop.rack.item_actions import NewItem, make_item
from combwright.shop.rack.item_queries import item_faults
from combwright.shop.rack.queries import ledger_faults
from shop.api.programs import a_token, somebody
from shop.api.whole_orders import an_order_on_the_bench
from shop.rack.shelves import a_bin

EXAMPLES = int(os.environ.get("COMBWRIGHT_EXAMPLES", "15"))
# The token is given, not drawn: one that was left out on purpose would be put back on the way.
CONFIG = SchemathesisConfig.from_dict({"generation": {"with-security-parameters": False}})
schema = schemathesis.openapi.from_dict(openapi(), config=CONFIG)
# How fast one may ask is asked elsewhere; a limit here would hide what is behind it.
with override_settings(MOST_A_SECOND=0):
    schema.app = get_wsgi_application()


@pytest.fixture
def asked_in_process():
    """Keep the test's own connection: in process, each request would close it behind itself."""
    for signal in (request_started, request_finished):
        signal.disconnect(close_old_connections)
    yield
    for signal in (request_started, request_finished):
        signal.connect(close_old_connections)


@pytest.fixture
def headers(db, asked_in_process, monkeypatch):
    # That guessers are slowed down is asked elsewhere; here wrong tokens are tried on purpose.
    monkeypatch.setattr(patience, "FREE_FOR_AN_ADDRESS", 10**9)
    a_bin("A-01-1", 50, batch="b7")
    a_bin("A-01-1b", 50, batch="b7")
    make_item(somebody(), NewItem("SET-A", "set", key="A", layout="standard", batch="b7"), came=30)
    an_order_on_the_bench()
    return {"Authorization": f"Bearer {a_token()[1]}"}


@schema.parametrize()
@settings(
    max_examples=EXAMPLES,
    deadline=None,
    derandomize="COMBWRIGHT_EXAMPLES" not in os.environ,
    database=None,
    suppress_health_check=list(HealthCheck),
)
def test_every_request_is_answered_as_the_document_says(case, headers):
    # A key that was drawn before would rightly be told apart from this request.
    Answered.objects.all().delete()
    answer = case.call_and_validate(headers=headers)
    assert answer.status_code != 429
    assert [*ledger_faults(), *item_faults(), *faults()] == []
