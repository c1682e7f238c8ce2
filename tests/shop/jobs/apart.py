"""The shop's settings for a worker in a process of its own, on the database of a test."""

import os

from combwright.shop.settings import *  # noqa: F403
from combwright.shop.settings import DATABASES

DATABASES["default"]["NAME"] = os.environ["COMBWRIGHT_TEST_DATABASE"]
JOB_MODULES = ["combwright.shop.jobs.tidying", "shop.jobs.kinds"]
JOB_LEASE_SECONDS = 1.5
