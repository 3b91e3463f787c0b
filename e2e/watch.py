"""What a page must never do: print an error, throw, or break the content security policy."""

from playwright.sync_api import BrowserContext, ConsoleMessage, Error, Page

# Runs before the page's own code; a breach is printed, so that it is found like any other error.
REPORT_BREACHES = """
addEventListener('securitypolicyviolation', (breach) =>
  console.error('CSP: ' + breach.violatedDirective + ' ' + breach.blockedURI));
"""
# A stopped server is part of the tests: a request that fails then is told by the browser, not by the app.
EXPECTED = ("net::ERR_CONNECTION_REFUSED", "net::ERR_INTERNET_DISCONNECTED")


class Watch:
    """Collects complaints of all pages of the contexts it was given."""

    def __init__(self) -> None:
        self.complaints: list[str] = []
        self.expected = list(EXPECTED)

    def expect(self, *words: str) -> None:
        """What the browser itself will print about requests that this test makes fail."""
        self.expected += words

    def over(self, context: BrowserContext) -> None:
        context.add_init_script(REPORT_BREACHES)
        context.on("console", self._console)
        context.on("page", self._page)
        for page in context.pages:
            self._page(page)

    def _page(self, page: Page) -> None:
        page.on("pageerror", self._thrown)

    def _thrown(self, error: Error) -> None:
        self.complaints.append(f"thrown: {error}")

    def _console(self, message: ConsoleMessage) -> None:
        if message.type in ("error", "warning") and not any(word in message.text for word in self.expected):
            self.complaints.append(f"{message.type}: {message.text} ({message.location.get('url')})")

    def assert_quiet(self) -> None:
        assert not self.complaints, "\n".join(self.complaints)
