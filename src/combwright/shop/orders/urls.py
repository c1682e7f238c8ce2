"""The addresses of orders, wishes and customers."""

from typing import Any

app_name = "orders"
urlpatterns: list[Any] = []
