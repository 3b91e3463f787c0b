"""Lighthouse's marks of every page of the desk and of the phone's first and second visit, by hand:

    CHROME_PATH=/usr/bin/chromium .venv/bin/python -m tests.bench.lighthouse
    ... --categories accessibility,best-practices,performance   # figures of speed need a quiet machine

Downloads, through npm as this machine has it set up, into instance/bench-lighthouse (ignored): lighthouse, in the
version below, with what it needs; nothing else. CHROME_PATH is found if not given. The server is a practice of its own
with the invented animals. Prints a table, 100 the best, and below it what costs a mark; asserts nothing.
"""

import argparse
import json
import os
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

from demo import seed
from e2e import every_page
from e2e.browser import ARGUMENTS, SYSTEM_NAMES
from e2e.servers import ROOT, demo_server, free_port

VERSION = "13.5.0"
INSTALLED = ROOT / "instance" / "bench-lighthouse"
DESK, PHONE = ["--preset=desktop"], ["--form-factor=mobile"]


def install() -> None:
    """Bring Lighthouse, said aloud, unless it is there."""
    wanted = {"name": "gelside-bench-lighthouse", "private": True, "dependencies": {"lighthouse": VERSION}}
    manifest = INSTALLED / "package.json"
    if manifest.is_file() and json.loads(manifest.read_text()) == wanted and (INSTALLED / "node_modules").is_dir():
        return
    print(f"Installing lighthouse {VERSION} for this bench only, into {INSTALLED.relative_to(ROOT)}", flush=True)
    INSTALLED.mkdir(parents=True, exist_ok=True)
    manifest.write_text(json.dumps(wanted))
    subprocess.run(["npm", "install", "--no-audit", "--no-fund", "--silent"], cwd=INSTALLED, check=True)


@contextmanager
def chrome(profile: Path) -> Iterator[int]:
    """A browser on a profile of its own; gives the port by which Lighthouse drives it."""
    found = os.environ.get("CHROME_PATH") or next(filter(None, map(shutil.which, SYSTEM_NAMES)), None)
    if found is None:
        raise SystemExit("No browser: name one in CHROME_PATH.")
    port = free_port()
    command = [found, "--headless=new", *ARGUMENTS, f"--remote-debugging-port={port}", f"--user-data-dir={profile}"]
    running = subprocess.Popen([*command, "about:blank"], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    try:
        yield port
    finally:
        running.terminate()
        running.wait()


def looked_at(address: str, port: int, categories: str, more: list[str]) -> dict[str, Any]:
    """Lighthouse's report of one page, of which nothing is taken away before (the phone's second visit)."""
    command = [str(INSTALLED / "node_modules" / ".bin" / "lighthouse"), address, f"--port={port}", "--quiet",
               "--output=json", f"--only-categories={categories}", "--disable-storage-reset",
               "--no-enable-error-reporting", *more]
    found: dict[str, Any] = json.loads(subprocess.run(command, check=True, capture_output=True).stdout)
    if urlsplit(found["finalDisplayedUrl"])[:4] != urlsplit(address)[:4]:
        raise SystemExit(f"{address} led to {found['finalDisplayedUrl']}: marks of another page say nothing.")
    return found


def show(name: str, report: dict[str, Any]) -> list[str]:
    """Print the marks of a page; what costs one, as lines for below."""
    marks = {one["id"]: round(100 * (one["score"] or 0)) for one in report["categories"].values()}
    print(f"{name:58} " + "  ".join(f"{kind} {mark:>4}" for kind, mark in marks.items()), flush=True)
    counted = {one["id"] for kind in report["categories"].values() for one in kind["auditRefs"] if one["weight"]}
    return [f"{name}: {one['title']} ({one['id']})" for one in report["audits"].values()
            if one["id"] in counted and one["score"] is not None and one["score"] < 1]


def main() -> None:
    ask = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    ask.add_argument("--categories", default="accessibility,best-practices")
    ask.add_argument("--only", default="", help="pages whose route holds this text")
    given = ask.parse_args()
    install()
    costs: list[str] = []
    with demo_server() as server:
        pages, cookie = every_page.of_desk(server.instance)
        as_person = [*DESK, f"--extra-headers={json.dumps({'Cookie': f'{every_page.COOKIE}={cookie}'})}"]
        phone = f"{server.address}/#phone={seed.PHONE_TOKEN}"
        nobody = [("phone, first visit", phone, PHONE), ("phone, second visit", f"{server.address}/", PHONE),
                  ("/sign-in", f"{server.address}/sign-in", DESK)]
        # A browser of its own for each: the cookie that the page for signing in sets goes before the one given here.
        for rows in (nobody, [(route, server.address + where, as_person) for route, where in pages.items()]):
            with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as folder, chrome(Path(folder)) as port:
                for name, address, more in rows:
                    if given.only in name:
                        costs += show(name, looked_at(address, port, given.categories, more))
    print("\n".join(["", *costs]) if costs else "\nNothing costs a mark.")


if __name__ == "__main__":
    main()
