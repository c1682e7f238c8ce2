"""The addresses of the bench."""

from typing import Any

app_name = "bench"
urlpatterns: list[Any] = []
