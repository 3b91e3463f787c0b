"""The browser that the tests drive: Playwright's own when it starts, else a Chromium of the system.

Run as a program, it prints which one starts and exits 0, or says that none does and exits 1.
"""

import shutil
import sys
from typing import Any

from playwright.sync_api import Error, Playwright, sync_playwright

SYSTEM_NAMES = ("chromium", "chromium-browser", "google-chrome")
# No sandbox: the tests also run as root. The rest keeps the browser from looking for hosts of its own.
ARGUMENTS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--no-first-run",
]


def launch_options(playwright: Playwright) -> dict[str, Any]:
    """Options for `launch` and `launch_persistent_context`; raises Error when no browser starts."""
    system = [path for path in map(shutil.which, SYSTEM_NAMES) if path]
    problem: Error | None = None
    for executable in [None, *system]:
        options: dict[str, Any] = {"args": ARGUMENTS, "headless": True}
        if executable:
            options["executable_path"] = executable
        try:
            playwright.chromium.launch(**options).close()
        except Error as failed:
            problem = failed
            continue
        return options
    raise problem or Error("no browser found")


def main() -> int:
    try:
        with sync_playwright() as playwright:
            print(launch_options(playwright).get("executable_path", "Playwright's own"))
    except Exception as problem:  # the last resort of a program: whatever it was, said in one line
        print(f"{type(problem).__name__}: {str(problem).splitlines()[0]}", file=sys.stderr)
        print("No browser starts: neither Playwright's own nor a Chromium of the system.", file=sys.stderr)
        return 1
    return 0


if __name__ == "__main__":
    sys.exit(main())
