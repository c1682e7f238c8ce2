"""A program that waits for calls: a web server of the tests' own, which answers as it is told."""

from contextlib import contextmanager
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from threading import Thread


class Receiver:
    """What came in, and what is answered: one status after the other, the last one for ever."""

    def __init__(self, port, answers):
        self.address = f"http://127.0.0.1:{port}/heard?shop=1"
        self.answers, self.heard = list(answers), []

    def next_answer(self):
        return self.answers.pop(0) if len(self.answers) > 1 else self.answers[0]


@contextmanager
def a_receiver(*answers, location=""):
    class Handler(BaseHTTPRequestHandler):
        def do_POST(self):
            body = self.rfile.read(int(self.headers["Content-Length"]))
            receiver.heard.append((self.path, dict(self.headers), body))
            self.send_response(receiver.next_answer())
            if location:
                self.send_header("Location", location)
            self.send_header("Content-Length", "0")
            self.end_headers()

        def do_GET(self):
            receiver.heard.append((self.path, {}, b""))

        def log_message(self, *_args):
            pass

    server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    receiver = Receiver(server.server_address[1], answers or (204,))
    thread = Thread(target=server.serve_forever, args=(0.02,), daemon=True)
    thread.start()
    try:
        yield receiver
    finally:
        server.shutdown()
        server.server_close()
        thread.join()
