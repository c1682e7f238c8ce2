"""The addresses of instruments."""

from typing import Any

app_name = "register"
urlpatterns: list[Any] = []
