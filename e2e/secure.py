"""A practice over https as README's "Real phones" sets it up: its commands, the server that `tls` tells to start,
and a browser that trusts its authority the way `tls` tells."""

import os
import re
import shlex
import ssl
import subprocess
import time
import urllib.request
from pathlib import Path
from typing import Any

from e2e.servers import PATIENCE_S, ROOT, HeldPort, end

PASSWORD = "harbour lights at noon"


class SecurePractice:
    """Set up once, started and stopped on one port, so that a page's origin lasts."""

    def __init__(self, folder: Path) -> None:
        self.instance = folder / "instance"
        self.home = folder / "home"
        self.home.mkdir()
        self._held = HeldPort()
        self.port = self._held.number
        self.process: subprocess.Popen[bytes] | None = None
        self.said = ""

    @property
    def address(self) -> str:
        return f"https://localhost:{self.port}"

    def run(self, line: str) -> str:
        """One command of the documents, as it stands there, in the project's folder."""
        done = subprocess.run(
            ["sh", "-c", line],
            cwd=ROOT,
            env={**os.environ, "GELSIDE_INSTANCE": str(self.instance), "HOME": str(self.home)},
            input=f"{PASSWORD}\n{PASSWORD}\n",
            capture_output=True,
            text=True,
            timeout=PATIENCE_S,
        )
        assert done.returncode == 0, f"{line}: {done.stdout}{done.stderr}"
        return done.stdout

    def set_up(self) -> None:
        """README's commands in their order; the names are those that it gives for this machine alone."""
        readme = (ROOT / "README.md").read_text(encoding="utf-8")
        section = readme.split("## Real phones\n")[1].split("\n## ")[0]
        here = re.search(r"on this machine alone: (tls localhost)", section)
        assert here is not None
        for line in section.split("```sh\n")[1].split("```")[0].splitlines():
            command, _, words = line.partition("#")
            if " tls " in command:
                command = f".venv/bin/flask --app webapp {here[1]} --port {self.port}"
            self.said = self.run(command)
        assert "Certificates for localhost" in self.said

    def start(self) -> None:
        """The command that `tls` printed; waits for an answer that its authority vouches for."""
        line = re.search(r"^GELSIDE_INSTANCE=.*$", self.said, re.MULTILINE)
        assert line is not None, self.said
        setting, *command = shlex.split(line[0])
        name, value = setting.split("=", 1)
        log = (self.instance / "server.log").open("ab")
        self.process = subprocess.Popen(command, cwd=ROOT, env={**os.environ, name: value}, stdout=log, stderr=log,
                                        start_new_session=True)
        log.close()
        until = time.monotonic() + PATIENCE_S
        while not self.answers():
            assert self.process.poll() is None and time.monotonic() < until, (self.instance / "server.log").read_text()
            time.sleep(0.05)

    def answers(self) -> bool:
        """Whether the server speaks TLS at all; an ended certificate counts, it is the browser that judges it."""
        unjudged = ssl.create_default_context()
        unjudged.check_hostname, unjudged.verify_mode = False, ssl.CERT_NONE
        try:
            with urllib.request.urlopen(f"{self.address}/api/ping", timeout=2, context=unjudged) as answer:
                return bool(answer.status == 200)
        except OSError:
            return False

    def stop(self) -> None:
        if self.process is None:
            return
        end(self.process)
        self.process = None

    def close(self) -> None:
        """Stop it for good."""
        self.stop()
        self._held.give_back()

    def trusting(self, options: dict[str, Any]) -> dict[str, Any]:
        """Launch options of a browser that trusts the authority, by the lines that `tls` printed."""
        told = re.findall(r"^ +((?:mkdir|certutil) .*)$", self.said, re.MULTILINE)
        assert len(told) == 2
        for line in told:
            self.run(line)
        return {**options, "env": {**os.environ, "HOME": str(self.home)}}
