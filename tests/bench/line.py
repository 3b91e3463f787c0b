"""A line between a browser and a server on this machine: counts what goes over it, and can be cut."""

import contextlib
import socket
import threading

HOST = "127.0.0.1"
METHODS = (b"GET ", b"POST ", b"PUT ", b"HEAD ", b"DELETE ", b"OPTIONS ")


class Line:
    """Listens on `port` and passes everything on to `target`. `requests` and `bytes_up` count from the last `reset`."""

    def __init__(self, target: int):
        self._target = target
        self._listening = socket.create_server((HOST, 0))
        self.port: int = self._listening.getsockname()[1]
        self._open: set[socket.socket] = set()
        self._cut_at: int | None = None
        self._is_cut = False
        self.requests = 0
        self.bytes_up = 0
        threading.Thread(target=self._accept, daemon=True).start()

    def reset(self) -> None:
        self.requests = self.bytes_up = 0

    def cut_after(self, bytes_up: int) -> None:
        """Cut as soon as so many bytes went up, in the middle of whatever is on its way."""
        self.reset()
        self._cut_at = bytes_up

    def mend(self) -> None:
        self._cut_at = None
        self._is_cut = False

    def close(self) -> None:
        self._listening.close()
        self._cut()

    def _accept(self) -> None:
        while True:
            try:
                near, _ = self._listening.accept()
            except OSError:
                return  # closed
            if self._is_cut:
                near.close()
                continue
            far = socket.create_connection((HOST, self._target))
            for end in (near, far):
                end.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
                self._open.add(end)
            threading.Thread(target=self._pass, args=(near, far, True), daemon=True).start()
            threading.Thread(target=self._pass, args=(far, near, False), daemon=True).start()

    def _pass(self, source: socket.socket, sink: socket.socket, up: bool) -> None:
        try:
            while part := source.recv(256 * 1024):
                if up:
                    self.requests += part.startswith(METHODS)
                    self.bytes_up += len(part)
                    if self._cut_at is not None and self.bytes_up >= self._cut_at:
                        self._is_cut = True
                        self._cut()
                        return
                sink.sendall(part)
        except OSError:
            pass  # the other half was cut or closed: what follows is for both
        for end in (source, sink):
            self._end(end)

    def _cut(self) -> None:
        for end in list(self._open):
            self._end(end)

    def _end(self, end: socket.socket) -> None:
        self._open.discard(end)
        with contextlib.suppress(OSError):  # closed by the other half already
            end.shutdown(socket.SHUT_RDWR)
        end.close()
