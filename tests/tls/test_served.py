"""The real server over https, as `flask --app webapp tls` tells to start it."""

import hashlib
import json
import os
import socket
import ssl
import subprocess
import time
import urllib.request
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from e2e.servers import HeldPort
from tests.builders import push, whole_exam
from tests.conftest import BEARER
from webapp import tls

ROOT = Path(__file__).resolve().parents[2]
PATIENCE_S = 60


class Served:
    """Where the server is, and a client that trusts the practice's authority."""

    def __init__(self, port: int, folder: Path):
        self.port = port
        self.trust = ssl.create_default_context(cafile=folder / tls.AUTHORITY)

    def ask(self, address: str, data: bytes | None = None, method: str | None = None, **headers: str) -> Any:
        asked = urllib.request.Request(
            f"https://localhost:{self.port}{address}", data=data, headers=BEARER | headers, method=method
        )
        with urllib.request.urlopen(asked, timeout=PATIENCE_S, context=self.trust) as answer:
            return dict(answer.headers), answer.read()

    def line(self) -> ssl.SSLSocket:
        return self.trust.wrap_socket(socket.create_connection(("127.0.0.1", self.port)), server_hostname="localhost")


@pytest.fixture
def served(path: Path, tmp_path: Path) -> Iterator[Served]:
    """granian with the certificate, over the practice's file of the test."""
    held = HeldPort()
    port = held.number
    instance = tmp_path / "instance"
    instance.mkdir()
    (instance / "config.toml").write_text(f'DATABASE = "{path}"\n')
    tls.make(instance / "tls", ["localhost"], "A practice")
    command = tls.serve_command(instance / "tls", "127.0.0.1", port)
    log = (tmp_path / "server.log").open("wb")
    server = subprocess.Popen(
        command, cwd=ROOT, env=os.environ | {"GELSIDE_INSTANCE": str(instance)}, stdout=log, stderr=log
    )
    here = Served(port, instance / "tls")
    try:
        until = time.monotonic() + PATIENCE_S
        while True:
            try:
                here.ask("/api/ping")
                break
            except OSError:
                if server.poll() is not None or time.monotonic() > until:
                    raise
                time.sleep(0.1)
        yield here
    finally:
        server.terminate()
        server.wait(PATIENCE_S)
        held.give_back()
        log.close()


def test_a_journal_goes_over_https_and_a_stranger_to_the_authority_refuses(served: Served) -> None:
    data = push(whole_exam()).encode()
    receipt = json.loads(served.ask("/api/journal", data, **{"Content-Type": "application/json"})[1])
    assert (receipt["through"], receipt["held"]) == (9, 9)
    with pytest.raises(OSError, match="CERTIFICATE_VERIFY_FAILED"):
        urllib.request.urlopen(f"https://localhost:{served.port}/api/ping", timeout=5)


@pytest.mark.catalogue(48)
def test_a_photo_whose_line_was_cut_is_resumed_to_the_same_bytes(served: Served) -> None:
    data = b"\xff\xd8\xff" + bytes(range(251)) * 2000
    name = hashlib.sha256(data).hexdigest()
    head = f"PUT /api/photo/{name} HTTP/1.1\r\nHost: localhost\r\nAuthorization: {BEARER['Authorization']}\r\n"
    line = served.line()
    line.sendall(f"{head}Content-Length: {len(data)}\r\n\r\n".encode() + data[: len(data) // 2])
    line.close()
    until = time.monotonic() + PATIENCE_S
    while True:  # the server may still be busy with the line that was cut
        held = int(served.ask(f"/api/photo/{name}", method="HEAD")[0]["x-gelside-held"])
        headers = {"Content-Range": f"bytes {held}-{len(data) - 1}/{len(data)}"}
        try:
            answer = json.loads(served.ask(f"/api/photo/{name}", data[held:], "PUT", **headers)[1])
            break
        except OSError:
            if time.monotonic() > until:
                raise
            time.sleep(0.1)
    assert answer == {"hash": name, "held": len(data), "complete": True}
    assert served.ask(f"/api/photo/{name}", method="HEAD")[0]["x-gelside-complete"] == "yes"
