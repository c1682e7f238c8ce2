"""The addresses of plans."""

from typing import Any

app_name = "plans"
urlpatterns: list[Any] = []
