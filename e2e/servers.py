"""A real server for a browser test: granian on a free port, with an instance folder of its own."""

import json
import os
import signal
import socket
import subprocess
import sys
import time
import urllib.request
from contextlib import suppress
from pathlib import Path
from urllib.error import URLError

ROOT = Path(__file__).resolve().parent.parent
HOST = "127.0.0.1"
PATIENCE_S = 30.0


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind((HOST, 0))
        port: int = probe.getsockname()[1]
        return port


class Server:
    """Started, stopped and started again on the same port, so that a page's origin lasts."""

    factory = "webapp:served"

    def __init__(self, instance: Path) -> None:
        self.instance = instance
        self.port = free_port()
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
        self.process.send_signal(signal.SIGTERM)
        try:
            self.process.wait(timeout=15)
        except subprocess.TimeoutExpired:
            self.process.kill()
            self.process.wait(timeout=15)
        self.process = None
        assert not self.answers()


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
    try:
        return Path(f"/proc/{process}/stat").read_text().rpartition(")")[2].split()[0] not in "ZX"
    except (FileNotFoundError, ProcessLookupError):
        return False
