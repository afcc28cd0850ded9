"""What the phone's tests share: a browser, a phone in it, and a server to talk to."""

import os
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import BrowserContext, Page, Playwright, sync_playwright

from tests.field import fake_server
from tests.field.fake_server import FakeServer

CHROMIUM = "/usr/bin/chromium"
ARGUMENTS = [
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync",
]  # fmt: skip
SMALL = {"width": 360, "height": 740}


@pytest.fixture(scope="module")  # ended before another file's tests start a driver of their own
def playwright() -> Iterator[Playwright]:
    # The browser's driver keeps an event loop in this thread, for which Django would refuse its data base.
    os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "1"
    with sync_playwright() as started:
        yield started
    del os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"]


@pytest.fixture(autouse=True)
def _static_folder(settings: Any, tmp_path: Path) -> None:
    """A folder that exists: the static files themselves are found beside their apps."""
    settings.STATIC_ROOT = tmp_path


@pytest.fixture
def server(settings: Any) -> FakeServer:
    """The sync contract, told by each test how to behave."""
    settings.ROOT_URLCONF = "tests.field.fake_urls"
    return fake_server.fresh_server()


class Phone:
    """One phone: a browser whose memory outlives its being closed."""

    def __init__(self, playwright: Playwright, memory: Path, address: str, **settled: Any) -> None:
        self._playwright, self._memory, self.address = playwright, memory, address
        self._settled: dict[str, Any] = {"viewport": SMALL, "has_touch": True, "locale": "en-US", **settled}
        self.problems: list[str] = []
        self.context: BrowserContext
        self.page: Page
        self.open()

    def open(self, place: str = "", *, offline: bool = False) -> None:
        """Take the phone out and open the page, at a place after the #."""
        self.context = self._playwright.chromium.launch_persistent_context(
            str(self._memory), executable_path=CHROMIUM, args=ARGUMENTS, offline=offline, **self._settled
        )
        self.page = self.context.pages[0]
        self._listen(self.page)
        self.page.goto(f"{self.address}/field/{place}")

    def second_tab(self) -> Page:
        """Another tab of the same page."""
        tab = self.context.new_page()
        self._listen(tab)
        tab.goto(f"{self.address}/field/")
        return tab

    def close(self) -> None:
        self.context.close()

    def enrol(self, code: str = "GOODCODE23") -> None:
        """Open the supervisor's link, press the key, and wait until the site is on the phone."""
        self.page.goto(f"{self.address}/field/#code={code}")
        self.page.get_by_role("button", name="Enrol").click()
        # A request that hangs as the network comes and goes is let go by the phone after a minute; then the site comes.
        self.page.get_by_role("heading", name="My work").wait_for(timeout=HANGS_MS)
        self.page.locator(".work-row, .empty").first.wait_for(timeout=HANGS_MS)
        self.page.evaluate("navigator.serviceWorker.ready")

    def show(self, place: str) -> None:
        """Go to a place after the # and wait until it is drawn."""
        if self.page.evaluate("place => location.hash === place", place):
            return
        # The page says where it stands by its heading; drawn anew, it is another element.
        self.page.evaluate("document.querySelector('main h1')?.setAttribute('data-old', '')")
        self.page.evaluate("place => { location.hash = place }", place)
        self.page.locator("main h1:not([data-old])").wait_for()

    def offline(self, is_offline: bool = True) -> None:
        self.context.set_offline(is_offline)

    def send(self) -> None:
        """Press Send now and wait until the phone is at rest."""
        self.show("#/waiting")
        self.page.get_by_role("button", name="Send now").click()
        self.rest()

    def rest(self) -> None:
        """Wait until the phone neither sends nor pulls."""
        self.page.locator("body:not([data-busy])").wait_for()

    def queue(self) -> list[dict[str, Any]]:
        """The queue as the phone keeps it."""
        return self.page.evaluate(READ_STORE, "queue")

    def stored(self, name: str) -> list[Any]:
        return self.page.evaluate(READ_STORE, name)

    def _listen(self, page: Page) -> None:
        page.on("pageerror", lambda error: self.problems.append(str(error)))
        page.on("console", self._heard)

    def _heard(self, message: Any) -> None:
        # A lost network is said on the console too, and is what many of these tests are about.
        if message.type == "error" and "Failed to load resource" not in message.text:
            self.problems.append(message.text)


HANGS_MS = 120_000
READ_STORE = """name => new Promise((resolve, reject) => {
  const opened = indexedDB.open("sitetrack");
  opened.onerror = () => reject(opened.error);
  opened.onsuccess = () => {
    const all = opened.result.transaction(name).objectStore(name).getAll();
    all.onsuccess = () => { opened.result.close(); resolve(all.result); };
  };
})"""


@pytest.fixture
def phone(playwright: Playwright, server: FakeServer, live_server: Any, tmp_path: Path) -> Iterator[Phone]:
    """A phone in English, not enrolled yet; a script that failed on it fails the test."""
    taken_out = Phone(playwright, tmp_path / "memory", live_server.url)
    yield taken_out
    taken_out.close()
    assert taken_out.problems == []


@pytest.fixture
def modules(playwright: Playwright, server: FakeServer, live_server: Any) -> Iterator[Page]:
    """A page from which a module of the phone can be imported and tried by itself."""
    browser = playwright.chromium.launch(executable_path=CHROMIUM, args=ARGUMENTS)
    page = browser.new_page()
    page.goto(f"{live_server.url}/field/")
    yield page
    browser.close()
