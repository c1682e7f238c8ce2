"""One thread for small matrices: several would mostly wait for one another."""

import functools
from contextlib import AbstractContextManager
from typing import cast

from threadpoolctl import ThreadpoolController


@functools.cache
def _controller() -> ThreadpoolController:
    return ThreadpoolController()


def one_thread() -> AbstractContextManager[object]:
    """Return a context in which linear algebra keeps to one thread."""
    return cast("AbstractContextManager[object]", _controller().limit(limits=1, user_api="blas"))
