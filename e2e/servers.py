"""A real server for a browser test: granian on a free port, with an instance folder of its own."""

import json
import os
import signal
import socket
import subprocess
import sys
import tempfile
import time
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from datetime import date
from pathlib import Path
from urllib.error import URLError

from demo import seed
from webapp import create_app

ROOT = Path(__file__).resolve().parent.parent
HOST = "127.0.0.1"
PATIENCE_S = 30.0


def free_port() -> int:
    """For a program that cannot be given a held one: it may be taken before the program asks for it."""
    with socket.socket() as probe:
        probe.bind((HOST, 0))
        port: int = probe.getsockname()[1]
        return port


class HeldPort:
    """A free port that nobody else is given, while its server is not started yet, or stopped for a while, either:
    bound and never listened on, so that whoever calls is refused. Granian binds beside it (SO_REUSEPORT)."""

    def __init__(self) -> None:
        self._held = socket.socket()
        self._held.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEPORT, 1)
        self._held.bind((HOST, 0))
        self.number: int = self._held.getsockname()[1]

    def give_back(self) -> None:
        self._held.close()


def end(process: subprocess.Popen[bytes]) -> None:
    """Stop a server that was started as the head of a session of its own; what does not end by itself is killed,
    its workers with it."""
    process.send_signal(signal.SIGTERM)
    try:
        process.wait(timeout=PATIENCE_S)
    except subprocess.TimeoutExpired:
        os.killpg(process.pid, signal.SIGKILL)
        process.wait(timeout=PATIENCE_S)


class Server:
    """Started, stopped and started again on the same port, so that a page's origin lasts."""

    factory = "webapp:served"

    def __init__(self, instance: Path) -> None:
        self.instance = instance
        self._held = HeldPort()
        self.port = self._held.number
        self.process: subprocess.Popen[bytes] | None = None

    @property
    def address(self) -> str:
        return f"http://{HOST}:{self.port}"

    def start(self) -> None:
        """Start and wait for the first answer; AssertionError with the server's own words otherwise."""
        granian = str(Path(sys.executable).parent / "granian")
        log = (self.instance / "server.log").open("ab")
        self.process = subprocess.Popen(
            [granian, "--interface", "wsgi", "--factory", self.factory, "--host", HOST, "--port",
             str(self.port), "--workers", "1", "--blocking-threads", "4", "--no-ws"],
            cwd=ROOT, env={**os.environ, "GELSIDE_INSTANCE": str(self.instance)}, stdout=log, stderr=log,
            start_new_session=True,
        )
        log.close()
        until = time.monotonic() + PATIENCE_S
        while time.monotonic() < until and self.process.poll() is None:
            if self.answers():
                return
            time.sleep(0.05)
        raise AssertionError(f"the server did not start: {(self.instance / 'server.log').read_text()[-2000:]}")

    def answers(self) -> bool:
        try:
            with urllib.request.urlopen(f"{self.address}/api/ping", timeout=2) as answer:
                return "gelside" in json.load(answer)
        except (URLError, OSError, ValueError):
            return False

    def stop(self) -> None:
        """Stop it and wait until the port is silent."""
        if self.process is None:
            return
        end(self.process)
        self.process = None
        assert not self.answers()

    def close(self) -> None:
        """Stop it for good."""
        self.stop()
        self._held.give_back()


@contextmanager
def demo_server() -> Iterator[Server]:
    """A server with the invented practice of today, for a bench: running, and gone with its folder afterwards."""
    with tempfile.TemporaryDirectory() as folder:
        os.environ["GELSIDE_INSTANCE"] = folder
        seed.seed(create_app(), date.today().isoformat())
        server = Server(Path(folder))
        server.start()
        try:
            yield server
        finally:
            server.stop()


def kill_browser(profile: Path) -> int:
    """End the browser that runs on this profile, and every process that it started, as a crash would; how many there
    were. They are gone when this returns: one that keeps the storage would else still hold it as the next browser
    starts, and end in good order."""
    family = _family(f"--user-data-dir={profile}".encode())
    for process in family:
        with suppress(ProcessLookupError):
            os.kill(process, signal.SIGKILL)
    until = time.monotonic() + PATIENCE_S
    while any(_lives(process) for process in family):
        assert time.monotonic() < until, "a process of the browser did not end"
        time.sleep(0.01)
    return len(family)


def _family(wanted: bytes) -> list[int]:
    """Processes with this among their arguments, and all that come from them."""
    parents: dict[int, int] = {}
    found = []
    for folder in Path("/proc").iterdir():
        if not folder.name.isdigit():
            continue
        try:
            parents[int(folder.name)] = int((folder / "stat").read_text().rpartition(")")[2].split()[1])
            if wanted in (folder / "cmdline").read_bytes().split(b"\0"):
                found.append(int(folder.name))
        except (FileNotFoundError, ProcessLookupError, PermissionError):
            continue
    for process in found:  # grows as their children are found
        found += [child for child, parent in parents.items() if parent == process and child not in found]
    return found


def _lives(process: int) -> bool:
    """Whether one of its threads does. The first may be gone while others, in the middle of a write, hold its files and
    their locks still: its own state says nothing of them."""
    try:
        threads = list(Path(f"/proc/{process}/task").iterdir())
    except (FileNotFoundError, ProcessLookupError):
        return False
    return any(_runs(thread) for thread in threads)


def _runs(thread: Path) -> bool:
    try:
        return (thread / "stat").read_text().rpartition(")")[2].split()[0] not in "ZX"
    except (FileNotFoundError, ProcessLookupError):
        return False
