"""What was told to programs about a customer is forgotten when their data are erased.

Answers are kept for a while so that a request sent twice is answered alike, and calls until they
are old. Whoever repeats a request after its answer was forgotten is told what the shop holds now.
"""

import json
from functools import reduce
from operator import or_

from django.db.models import Q

from combwright.shop.api.hook_models import Call
from combwright.shop.api.models import Answered
from combwright.shop.orders.customer_actions import forget_too
from combwright.shop.orders.models import Customer


@forget_too
def forget(customer: Customer) -> None:
    """Throw away the answers that name a customer or one of their orders, and calls that ended."""
    said = [customer.name, customer.email, *customer.orders.values_list("number", flat=True)]
    for text in filter(None, said):
        # As JSON writes it: some writers escape letters beyond ASCII and some do not.
        wanted = {json.dumps(text), json.dumps(text, ensure_ascii=False)}
        named = reduce(or_, (Q(body__contains=each) for each in wanted))
        Answered.objects.filter(named).delete()
        Call.objects.filter(named).exclude(state=Call.WAITING).delete()
