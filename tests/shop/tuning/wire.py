"""A wire between a browser and the shop that can be cut and mended."""

import socket
import threading
from contextlib import contextmanager, suppress
from urllib.parse import urlsplit


class Wire:
    """Hands bytes on both ways; `cut` drops all connections and refuses new ones."""

    def __init__(self, origin):
        there = urlsplit(origin)
        self._there = (there.hostname, there.port)
        self._door = socket.create_server(("127.0.0.1", 0))
        self._open = []
        self._whole = True
        threading.Thread(target=self._serve, daemon=True).start()

    @property
    def origin(self):
        return f"http://127.0.0.1:{self._door.getsockname()[1]}"

    def cut(self):
        self._whole = False
        for each in self._open:
            _end(each)
        self._open = []

    def mend(self):
        self._whole = True

    def close(self):
        self.cut()
        _end(self._door)

    def _serve(self):
        while True:
            try:
                near, _ = self._door.accept()
            except OSError:
                return
            if not self._whole:
                _end(near)
                continue
            far = socket.create_connection(self._there)
            self._open += [near, far]
            for one, other in ((near, far), (far, near)):
                threading.Thread(target=_pump, args=(one, other), daemon=True).start()


def _pump(one, other):
    with suppress(OSError):
        while data := one.recv(65536):
            other.sendall(data)
    _end(one)
    _end(other)


def _end(each):
    with suppress(OSError):
        each.shutdown(socket.SHUT_RDWR)
    each.close()


@contextmanager
def wire(origin):
    """Lay a wire to a shop."""
    laid = Wire(origin)
    yield laid
    laid.close()
