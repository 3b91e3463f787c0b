"""The day at the table in another engine, by hand: start without network, record, die by SIGKILL, resume, send.

    .venv/bin/python -m e2e.engines firefox     # needs firefox-esr (or firefox)
    .venv/bin/python -m e2e.engines webkit      # needs webkit2gtk-driver and a display (xvfb-run)

Firefox is driven by its own remote protocol (Marionette), WebKit by WebDriver: no other package is needed. Taps are
`click()` from a script, so the engines' storage, workers and layout are tried, not their touch. Each step is printed as
it was met; a step that an engine's automation cannot do is printed with the reason and left out. The exit code is 1
when a step that could be done did not hold.
"""

import json
import os
import shutil
import signal
import socket
import sqlite3
import subprocess
import sys
import tempfile
import time
import urllib.error
import urllib.request
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

from demo import seed
from e2e.servers import HOST, Server, free_port
from webapp import create_app

PATIENCE_S = 120.0
CAUDAL = "adrenal.left.caudal_pole_thickness"


class Firefox:
    """One process on a profile that outlives it, driven over Marionette: `<length>:[0, id, command, parameters]`."""

    keeps_its_profile = ""

    def __init__(self, folder: Path) -> None:
        self.profile = folder / "profile"
        self.profile.mkdir()
        self.port = free_port()
        wanted = {"marionette.port": self.port, "browser.shell.checkDefaultBrowser": False,
                  "datareporting.policy.dataSubmissionEnabled": False, "app.update.disabledForTesting": True}
        lines = [f"user_pref({json.dumps(name)}, {json.dumps(value)});" for name, value in wanted.items()]
        (self.profile / "user.js").write_text("\n".join(lines), encoding="utf-8")

    def start(self) -> None:
        program = shutil.which("firefox-esr") or shutil.which("firefox")
        if program is None:
            raise SystemExit("There is no Firefox here: install firefox-esr.")
        asked = [program, "--headless", "--marionette", "--no-remote", "--profile", str(self.profile)]
        quiet = subprocess.DEVNULL
        self.process = subprocess.Popen(asked, stdout=quiet, stderr=quiet, start_new_session=True)
        self.number, self.buffer = 0, b""
        self.socket = _connected(self.port)
        self._read()  # who it is
        told = self.do("WebDriver:NewSession", {})
        print("engine:", told["capabilities"]["browserName"], told["capabilities"]["browserVersion"])

    def do(self, command: str, given: dict[str, Any]) -> Any:
        self.number += 1
        text = json.dumps([0, self.number, command, given]).encode()
        self.socket.sendall(str(len(text)).encode() + b":" + text)
        _, _, error, result = self._read()
        if error:
            raise RuntimeError(f"{command}: {error['message']}")
        return result

    def _read(self) -> Any:
        while b":" not in self.buffer:
            self.buffer += self._part()
        length, _, rest = self.buffer.partition(b":")
        while len(rest) < int(length):
            rest += self._part()
        self.buffer = rest[int(length):]
        return json.loads(rest[: int(length)])

    def _part(self) -> bytes:
        part = self.socket.recv(65536)
        if not part:
            raise RuntimeError("Firefox ended")
        return part

    def go(self, address: str) -> None:
        self.do("WebDriver:Navigate", {"url": address})

    def run(self, script: str, *given: Any) -> Any:
        return self.do("WebDriver:ExecuteScript", {"script": script, "args": list(given)})["value"]

    def kill(self) -> None:
        os.killpg(self.process.pid, signal.SIGKILL)
        self.process.wait()
        self.socket.close()
        for lock in ("lock", ".parentlock"):
            (self.profile / lock).unlink(missing_ok=True)


class WebKit:
    """WebKitGTK's small browser behind its own driver."""

    keeps_its_profile = "under automation WebKitGTK keeps its data in memory only, so nothing outlives the process"

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.port = free_port()

    def start(self) -> None:
        driver = shutil.which("WebKitWebDriver")
        found = sorted(Path("/usr").glob("lib*/**/webkit2gtk-4.*/MiniBrowser"))
        if driver is None or not found:
            raise SystemExit("There is no WebKit here: install webkit2gtk-driver.")
        self.process = subprocess.Popen([driver, f"--port={self.port}"], stdout=subprocess.DEVNULL,
                                        stderr=subprocess.DEVNULL, start_new_session=True)
        _connected(self.port).close()
        options = {"binary": str(found[-1]), "args": ["--automation"]}
        wanted = {"capabilities": {"alwaysMatch": {"webkitgtk:browserOptions": options}}}
        told = self._ask("POST", "/session", wanted)
        self.session = told["sessionId"]
        print("engine:", told["capabilities"]["browserName"], told["capabilities"]["browserVersion"])

    def _ask(self, method: str, path: str, given: Any) -> Any:
        body = json.dumps(given).encode()
        asked = urllib.request.Request(f"http://{HOST}:{self.port}{path}", body, {"Content-Type": "application/json"},
                                       method=method)
        try:
            with urllib.request.urlopen(asked, timeout=PATIENCE_S) as answer:
                return json.load(answer)["value"]
        except urllib.error.HTTPError as error:
            raise RuntimeError(f"{path}: {error.read().decode()[:300]}") from error

    def go(self, address: str) -> None:
        self._ask("POST", f"/session/{self.session}/url", {"url": address})

    def run(self, script: str, *given: Any) -> Any:
        return self._ask("POST", f"/session/{self.session}/execute/sync", {"script": script, "args": list(given)})

    def kill(self) -> None:
        os.killpg(self.process.pid, signal.SIGKILL)
        self.process.wait()


def _connected(port: int) -> socket.socket:
    until = time.monotonic() + PATIENCE_S
    while time.monotonic() < until:
        try:
            return socket.create_connection((HOST, port), timeout=PATIENCE_S)
        except OSError:
            time.sleep(0.2)
    raise RuntimeError("the browser does not answer")


class Table:
    """The app in one engine, by clicks of a script."""

    def __init__(self, engine: Firefox | WebKit) -> None:
        self.engine = engine

    def has(self, selector: str) -> bool:
        return bool(self.engine.run("return document.querySelector(arguments[0]) !== null", selector))

    def wait(self, selector: str) -> None:
        self.until(lambda: self.has(selector), selector)

    def until(self, holds: Callable[[], bool], words: str) -> None:
        end = time.monotonic() + PATIENCE_S
        while not holds():
            if time.monotonic() > end:
                raise AssertionError(f"it never came about: {words}; the screen: {self.engine.run(SCREEN)}")
            time.sleep(0.1)

    def tap(self, selector: str, words: str = "") -> None:
        self.until(lambda: bool(self.engine.run(TAP, selector, words)), f"{selector} {words}")

    def saved(self) -> int:
        return int(self.engine.run("return document.body.dataset.saved") or 0)

    def read(self, value: str) -> None:
        before = self.saved()
        for key in value:
            self.tap(f'.keypad [data-key="{key}"]')
        self.wait(f'body[data-saved="{before + 1}"][data-saving="0"]')


SCREEN = "return JSON.stringify(document.body.dataset) + document.body.innerText.slice(0, 200)"
TAP = """
const found = [...document.querySelectorAll(arguments[0])].find((one) => one.textContent.includes(arguments[1]));
if (found && !found.disabled) found.click();
return Boolean(found);
"""


def day(engine: Firefox | WebKit, server: Server) -> None:
    table = Table(engine)
    engine.start()
    engine.go(f"{server.address}/#phone={seed.PHONE_TOKEN}")
    table.wait("body[data-ready=yes][data-screen=list] [data-visit]")
    print("met: the list of the day")
    offline = kept_for_offline(table)
    if offline:
        server.stop()
        engine.go(f"{server.address}/")
        table.wait("body[data-ready=yes][data-screen=list] [data-visit]")
        print("met: start with the server stopped")
    table.tap("[data-visit]", "Otto")
    table.wait('[data-act="begin"]')
    if not table.has('[data-choice="V. Sorrel"][aria-pressed=true]'):
        table.tap('[data-choice="V. Sorrel"]')
    table.tap('[data-act="begin"]')
    table.wait("body[data-screen=exam][data-engine=ready]")
    table.tap('[data-act="all"]')
    table.tap('[data-go="adrenal.left"]')
    table.wait('[data-structure="adrenal.left"]')
    for value in ("6.4", "6.9", "6.6"):
        table.read(value)
    table.wait("body[data-settled=yes]")
    line = engine.run("return document.querySelector('.echo .line')?.textContent || ''")
    print("met: readings kept and judged:", " ".join(line.split()))
    kept = table.saved()
    engine.go("about:blank")
    resume(table, server, kept)
    print("met: the page closed and resumed, nothing lost")
    if engine.keeps_its_profile:
        print(f"left out: killed and resumed ({engine.keeps_its_profile})")
    else:
        engine.kill()
        engine.start()
        resume(table, server, kept)
        print("met: killed by SIGKILL and resumed without network, nothing lost")
    if offline:
        server.start()
    engine.run("dispatchEvent(new Event('online'))")
    table.wait('body[data-pending="0"]')
    db = sqlite3.connect(f"file:{server.instance / 'gelside.sqlite3'}?mode=ro", uri=True)
    others = "select count(*) from entries where device != ? and arrived_from != 'desk'"
    (held,) = db.execute(others, [seed.device()]).fetchone()
    db.close()
    if held != kept:
        raise AssertionError(f"the practice holds {held} of {kept}")
    print(f"met: sent, the practice holds {held} of {kept}")


def resume(table: Table, server: Server, kept: int) -> None:
    """Start the app with an exam in hand and go on with it; so many entries must be there."""
    table.engine.go(f"{server.address}/")
    table.wait("body[data-screen=resume]")
    table.tap('[data-act="go-on"]')
    table.wait(f'body[data-screen=exam][data-saved="{kept}"]')


def kept_for_offline(table: Table) -> bool:
    """Whether the app is kept by its service worker."""
    if not table.engine.run("return 'serviceWorker' in navigator"):
        print("left out: start with the server stopped (this build has no service worker)")
        return False
    table.wait("body[data-offline=ready]")
    return True


def main(name: str) -> int:
    with tempfile.TemporaryDirectory() as folder:
        instance = Path(folder) / "instance"
        instance.mkdir()
        os.environ["GELSIDE_INSTANCE"] = str(instance)
        seed.seed(create_app(), date.today().isoformat())
        server = Server(instance)
        server.start()
        engine = Firefox(Path(folder)) if name == "firefox" else WebKit(Path(folder))
        try:
            day(engine, server)
        except AssertionError as error:
            print("NOT met:", error)
            return 1
        finally:
            engine.kill()
            server.stop()
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1]))
