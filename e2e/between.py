"""Something between the phone and its server that a test can hold, cut and count: a proxy on a port of its own."""

import http.client
import http.server
import json
import threading
from collections.abc import Callable
from typing import Literal

from e2e.servers import HOST, Server

PATIENCE_S = 30.0
# Belong to one connection, not to the message.
HOP_BY_HOP = {"connection", "keep-alive", "transfer-encoding"}

Fate = Literal["pass", "cut before", "cut after"]


class Between:
    """Forwards everything. Pushes of entries are counted, held while `gate` is shut, and cut as `fate` says. While
    `past` is not set, all pages of the practice's entries but the first wait."""

    def __init__(self, server: Server) -> None:
        self.port = server.port
        self.gate = threading.Event()
        self.gate.set()
        self.past = threading.Event()
        self.past.set()
        self.waiting = threading.Event()  # a push stands at the shut gate
        self.fate: Callable[[int], Fate] = lambda number: "pass"
        self.fetched: list[str] = []  # paths, in the order asked for
        self.pushes = 0
        self.entries = 0  # of all pushes together, those sent twice counted twice
        self.inside = 0
        self.most = 0  # pushes at once
        self._lock = threading.Lock()
        self._proxy = http.server.ThreadingHTTPServer((HOST, 0), self._handler())
        self._proxy.daemon_threads = True
        self.address = f"http://{HOST}:{self._proxy.server_port}"
        threading.Thread(target=self._proxy.serve_forever, daemon=True).start()

    def stop(self) -> None:
        self.gate.set()
        self.past.set()
        self._proxy.shutdown()
        self._proxy.server_close()

    def shut(self) -> None:
        """From now on pushes wait."""
        self.waiting.clear()
        self.gate.clear()

    def wait_for_push(self) -> None:
        """A push stands at the shut gate."""
        assert self.waiting.wait(PATIENCE_S), "no push came to the gate"

    def open(self) -> None:
        self.gate.set()

    def _handler(self) -> type[http.server.BaseHTTPRequestHandler]:
        between = self

        class Handler(http.server.BaseHTTPRequestHandler):
            protocol_version = "HTTP/1.1"

            def do_GET(self) -> None:
                between.fetched.append(self.path)
                if self.path.startswith("/api/journal?") and "since=0&" not in self.path:
                    between.past.wait()
                self._forward(b"", "pass")

            def do_POST(self) -> None:
                body = self.rfile.read(int(self.headers.get("Content-Length") or 0))
                if self.path != "/api/journal" or b'"entries":[{' not in body:
                    self._forward(body, "pass")
                    return
                with between._lock:
                    between.pushes += 1
                    between.entries += len(json.loads(body)["entries"])
                    number = between.pushes
                    between.inside += 1
                    between.most = max(between.most, between.inside)
                try:
                    if not between.gate.is_set():
                        between.waiting.set()
                        between.gate.wait()  # as long as the test holds it; `stop` opens it
                    self._forward(body, between.fate(number))
                finally:
                    with between._lock:
                        between.inside -= 1

            def _forward(self, body: bytes, fate: Fate) -> None:
                if fate == "cut before":
                    self.close_connection = True
                    return
                way = http.client.HTTPConnection(HOST, between.port, timeout=PATIENCE_S)
                try:
                    way.request(self.command, self.path, body or None, dict(self.headers))
                    answer = way.getresponse()
                    content = answer.read()
                except OSError:
                    self.close_connection = True
                    return
                finally:
                    way.close()
                if fate == "cut after":
                    self.close_connection = True
                    return
                self._answer(answer, content)

            def _answer(self, answer: http.client.HTTPResponse, content: bytes) -> None:
                try:
                    self.send_response_only(answer.status, answer.reason)
                    for name, value in answer.getheaders():
                        if name.lower() not in HOP_BY_HOP | {"content-length"}:
                            self.send_header(name, value)
                    self.send_header("Content-Length", str(len(content)))
                    self.end_headers()
                    self.wfile.write(content)
                except OSError:
                    # The phone went away meanwhile (it was killed, it gave up): part of the tests.
                    self.close_connection = True

            def log_message(self, format: str, *args: object) -> None:
                """Quiet: the browser's own console is what the tests watch."""

        return Handler
