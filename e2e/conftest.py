"""Browser tests: a seeded server of their own, a phone and a desk to look at it, and a watch over both."""

import functools
import os
import shutil
from collections.abc import Callable, Iterator
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, Playwright, expect, sync_playwright

from demo import seed
from e2e.between import Between
from e2e.browser import launch_options
from e2e.servers import PATIENCE_S, ROOT, Server, kill_browser
from e2e.watch import Watch
from webapp import create_app

# One patience for all: a wait ends as soon as what it waits for is there. That a busy machine lets a page wait is no
# fault of the page; what is to be quick is measured, where it is claimed.
expect.set_options(timeout=PATIENCE_S * 1000)

PHONE: dict[str, Any] = {"viewport": {"width": 390, "height": 844}, "has_touch": True, "is_mobile": True,
                         "device_scale_factor": 2, "color_scheme": "dark", "locale": "en-GB"}
DESK: dict[str, Any] = {"viewport": {"width": 1440, "height": 900}, "locale": "en-GB"}


@pytest.fixture(scope="session")
def playwright() -> Iterator[Playwright]:
    with sync_playwright() as running:
        yield running


@pytest.fixture(scope="session")
def browser_options(playwright: Playwright) -> dict[str, Any]:
    """For `launch` and `launch_persistent_context`."""
    return launch_options(playwright)


@pytest.fixture(scope="session")
def browser(playwright: Playwright, browser_options: dict[str, Any]) -> Iterator[Browser]:
    running = playwright.chromium.launch(**browser_options)
    yield running
    running.close()


@pytest.fixture(scope="session")
def seeded(tmp_path_factory: pytest.TempPathFactory) -> Callable[[str], Path]:
    """An instance folder with the invented practice on that day in it, made once for each day (a run may go on over
    midnight) and copied for each server."""
    assert (ROOT / "static" / "build" / "index.html").is_file(), "the phone app is not built: use ./tests/run"
    return functools.cache(lambda today: sown(tmp_path_factory.mktemp("seeded"), today))


def sown(folder: Path, today: str) -> Path:
    before = os.environ.get("GELSIDE_INSTANCE")
    os.environ["GELSIDE_INSTANCE"] = str(folder)
    try:
        seed.seed(create_app(), today)
    finally:
        os.environ.pop("GELSIDE_INSTANCE")
        if before is not None:
            os.environ["GELSIDE_INSTANCE"] = before
    return folder


@pytest.fixture
def server(seeded: Callable[[str], Path], tmp_path: Path) -> Iterator[Server]:
    """A running server with the invented practice, the test's own."""
    instance = tmp_path / "instance"
    shutil.copytree(seeded(date.today().isoformat()), instance)
    running = Server(instance)
    running.start()
    yield running
    running.close()


@pytest.fixture
def watch() -> Iterator[Watch]:
    """Fails the test at its end when a page complained."""
    watching = Watch()
    yield watching
    watching.assert_quiet()


NewPage = Callable[..., Page]


@pytest.fixture
def new_page(browser: Browser, watch: Watch) -> Iterator[NewPage]:
    """Makes watched pages, each in a fresh context: `new_page(**PHONE)`."""
    contexts: list[BrowserContext] = []

    def make(**options: Any) -> Page:
        contexts.append(browser.new_context(**options))
        watch.over(contexts[-1])
        return contexts[-1].new_page()

    yield make
    for context in contexts:
        context.close()


@pytest.fixture
def phone(new_page: NewPage) -> Page:
    """A phone's page, 390 x 844 with touch, not yet at an address."""
    return new_page(**PHONE)


@pytest.fixture
def desk(new_page: NewPage) -> Page:
    """A page at the desk, 1440 x 900."""
    return new_page(**DESK)


class KillableBrowser:
    """A browser on a profile of its own that can end as in a crash and start again on the same disk."""

    def __init__(self, playwright: Playwright, options: dict[str, Any], profile: Path, watch: Watch) -> None:
        self._launch = playwright.chromium.launch_persistent_context
        self._options = options
        self._profile = profile
        self._watch = watch
        self._context: BrowserContext | None = None

    def start(self, **options: Any) -> Page:
        """Start it and give its page, watched: `start(**PHONE)`."""
        self._context = self._launch(str(self._profile), **self._options, **options)
        self._watch.over(self._context)
        return self._context.pages[0]

    def kill(self) -> None:
        """SIGKILL to every process of it; nothing is told to the page."""
        assert kill_browser(self._profile) > 1, "the browser without those that draw and keep is not all of it"
        self._context = None

    def databases(self) -> list[Path]:
        """The folders that hold them."""
        return list((self._profile / "Default" / "IndexedDB").glob("*.leveldb"))

    def close(self) -> None:
        if self._context is not None:
            self._context.close()


@pytest.fixture
def killable(
    playwright: Playwright, browser_options: dict[str, Any], tmp_path: Path, watch: Watch
) -> Iterator[KillableBrowser]:
    running = KillableBrowser(playwright, browser_options, tmp_path / "profile", watch)
    yield running
    running.close()


@pytest.fixture
def phone_link(server: Server) -> str:
    """The link that makes a browser the demo phone."""
    return f"{server.address}/#phone={seed.PHONE_TOKEN}"


@pytest.fixture
def between(server: Server) -> Iterator[Between]:
    """The server behind something that can be held, cut and counted; its `address` is the phone's."""
    running = Between(server)
    yield running
    running.stop()
