"""A browser for tests of pages; without one they are skipped, but not where CI is to have one."""

import os
import shutil
from collections.abc import Iterator
from typing import Final

import pytest
from playwright.sync_api import Browser, Page, sync_playwright

NAMES: Final = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable")
ARGUMENTS: Final = (
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--disable-dev-shm-usage",
)


def browser_path() -> str | None:
    """The browser to test with: as the environment says, or the first of those that are installed."""
    return os.environ.get("BOREWRIGHT_BROWSER") or next(filter(None, map(shutil.which, NAMES)), None)


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """One browser for all tests of a worker."""
    path = browser_path()
    if path is None:
        missing = f"no browser: install one of {', '.join(NAMES)}, or name it in BOREWRIGHT_BROWSER"
        if os.environ.get("CI") == "true":
            pytest.fail(missing)
        pytest.skip(missing)
    with sync_playwright() as playwright:
        started = playwright.chromium.launch(executable_path=path, args=list(ARGUMENTS))
        yield started
        started.close()


@pytest.fixture(scope="module")
def tab(browser: Browser) -> Iterator[Page]:
    """One tab for all tests; what it says is heard by every test so far, of which only the last still listens."""
    context = browser.new_context()
    yield context.new_page()
    context.close()
