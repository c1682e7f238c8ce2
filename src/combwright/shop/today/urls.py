"""The address of the day's page."""

from typing import Any

app_name = "today"
urlpatterns: list[Any] = []
