"""Seed the invented practice into instance/demo and serve it on this machine: started by ./demo/start."""

import argparse
import json
import os
import socket
import sys
import time
import urllib.request
from datetime import date
from pathlib import Path
from urllib.error import URLError

from demo import seed

ROOT = Path(__file__).resolve().parent.parent
INSTANCE = ROOT / "instance" / "demo"
HOST = "127.0.0.1"  # the demo's password and token are in the open: never another address
PATIENCE_S = 20.0


def free(port: int) -> bool:
    with socket.socket() as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((HOST, port))
        except OSError:
            return False
    return True


def answers(port: int) -> bool:
    """Whether Gelside itself answers there."""
    try:
        with urllib.request.urlopen(f"http://{HOST}:{port}/api/ping", timeout=1) as answer:
            return "gelside" in json.load(answer)
    except (URLError, OSError, ValueError):
        return False


def prepare() -> None:
    from webapp import create_app

    INSTANCE.mkdir(parents=True, exist_ok=True)
    os.environ["GELSIDE_INSTANCE"] = str(INSTANCE)
    print(seed.seed(create_app(), date.today().isoformat()), flush=True)


def greeting(port: int) -> str:
    site = f"http://{HOST}:{port}"
    person, password = seed.SIGN_IN
    return f"""
Gelside's demo is running: invented animals only.
  Phone   {site}/#phone={seed.PHONE_TOKEN}
          (open it on this machine; a real phone needs HTTPS: README, "Real phones")
  Desk    {site}/review   sign in as {person} with {password}
  Stop    Ctrl+C. What you record stays in instance/demo; delete that folder to start afresh.
"""


def greet_when_up(port: int, server: int) -> None:
    """Print where everything is as soon as the server answers; give up when the server is gone."""
    until = time.monotonic() + PATIENCE_S
    while time.monotonic() < until and os.getppid() == server:
        if answers(port):
            print(greeting(port), flush=True)
            return
        time.sleep(0.05)


def serve(port: int) -> None:
    """Become the server; a child process greets and ends."""
    server = os.getpid()
    if os.fork() == 0:
        greet_when_up(port, server)
        os._exit(0)
    granian = str(Path(sys.executable).parent / "granian")
    os.chdir(ROOT)
    os.execv(granian, [
        granian, "--interface", "wsgi", "--factory", "webapp:served", "--host", HOST, "--port", str(port),
        "--workers", "1", "--blocking-threads", "4", "--log-level", "warning", "--no-ws",
    ])


def main(arguments: list[str]) -> int:
    parser = argparse.ArgumentParser(prog="./demo/start", description="Start the invented practice.")
    parser.add_argument("--port", type=int, default=8000)
    port = parser.parse_args(arguments).port
    if not 1 <= port <= 65535:
        print(f"Port {port} does not exist: choose one from 1 to 65535.", file=sys.stderr)
        return 1
    if not free(port):
        what = "Gelside is running there already" if answers(port) else "another program uses it"
        print(f"Port {port} is taken ({what}): stop that, or start with ./demo/start --port {port + 1}.",
              file=sys.stderr)
        return 1
    prepare()
    serve(port)
    return 0


if __name__ == "__main__":
    try:
        sys.exit(main(sys.argv[1:]))
    except KeyboardInterrupt:
        sys.exit(130)
