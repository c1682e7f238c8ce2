"""Django's own check of a site on a network: clean behind HTTPS, and explained without."""

import os
import re
import subprocess
import sys
import tempfile

import pytest

#: What HTTPS alone can put right: HSTS, the redirect, and cookies that only go over HTTPS.
WITHOUT_HTTPS = {"security.W004", "security.W008", "security.W012", "security.W016"}
NEVER = {"security.W021"}
ASKED = """
import django
django.setup()
from django.conf import settings
from django.core import checks
shown = checks.run_checks(include_deployment_checks=True)
print("shown", *sorted(each.id for each in shown if not each.is_silenced()))
print("silenced", *sorted(each.id for each in shown if each.is_silenced()))
print("listed", *sorted(settings.SILENCED_SYSTEM_CHECKS))
"""


def checked(https, **more):
    with tempfile.TemporaryDirectory(prefix="combwright-deploy-") as folder:
        env = {**os.environ, "COMBWRIGHT_DATA": folder, "COMBWRIGHT_HTTPS": https, **more}
        env.pop("COMBWRIGHT_DATABASE", None)
        done = subprocess.run(
            [sys.executable, "-c", ASKED], env=env, capture_output=True, text=True, check=True
        )
    return {line.split()[0]: set(line.split()[1:]) for line in done.stdout.splitlines()}


def test_behind_https_the_check_finds_nothing_and_one_offer_is_declined():
    found = checked("1")
    assert found == {"shown": set(), "silenced": NEVER, "listed": NEVER}


def test_without_https_only_what_https_could_mend_is_silenced():
    found = checked("0")
    assert found["shown"] == set()
    assert found["silenced"] == found["listed"] - NEVER == WITHOUT_HTTPS


def test_with_https_of_its_own_cookies_are_safe_and_no_lasting_promise_is_made():
    found = checked("0", COMBWRIGHT_AUTHORITY="somewhere")
    assert found["shown"] == set()
    assert found["silenced"] == found["listed"] - NEVER == {"security.W004", "security.W008"}


@pytest.mark.parametrize("given", ["-1", "many", "nan", "inf"])
def test_a_pace_that_is_none_is_refused_in_one_line(given, monkeypatch):
    from combwright.shop.where import BadPlace, most_a_second

    monkeypatch.setenv("COMBWRIGHT_MOST_A_SECOND", given)
    with pytest.raises(BadPlace, match=re.escape(f"it is {given!r}")):
        most_a_second()


@pytest.mark.parametrize(("given", "pace"), [("", 20), ("0", 0), ("2.5", 2.5)])
def test_the_pace_comes_from_the_environment(given, pace, monkeypatch):
    from combwright.shop.where import most_a_second

    monkeypatch.setenv("COMBWRIGHT_MOST_A_SECOND", given)
    assert most_a_second() == pace
