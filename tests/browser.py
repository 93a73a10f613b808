"""A phone's browser: Debian's Chromium by Playwright, at the size of a phone."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any, Literal
from urllib.parse import urlsplit

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, sync_playwright

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
NEEDED = os.environ.get("LAPPING_CHROMIUM") == "needed"
"""Set where these tests may not be skipped, as on the machine that checks a change."""
WITHOUT = (
    "NO CHROMIUM HERE: the phone page was not tried in a browser; "
    "install it with: apt-get install chromium"
)
SIZE = {"width": 360, "height": 740}
LEAST_PX = 44
"""WCAG 2.2, target size (enhanced)."""
_SMALL = """() => [
    ...document.querySelectorAll('a, button, summary, input, select, label')
].filter((one) => {
        const label = one.closest('label');
        if (one.matches('input') && label && label.matches('.choice, .big, .quiet'))
            return false;
        if (one.matches('label') && !one.matches('.choice')) return false;
        const box = one.getBoundingClientRect();
        return box.width && (box.height < LEAST || box.width < LEAST);
    })
    .map((one) => one.outerHTML.slice(0, 90))""".replace("LEAST", str(LEAST_PX - 0.5))


@contextmanager
def chromium() -> Iterator[Browser]:
    """Start the browser, or skip what needs it, or fail where that is not allowed."""
    if CHROMIUM is None:
        if NEEDED:
            pytest.fail(WITHOUT)
        pytest.skip(WITHOUT)
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(
            executable_path=CHROMIUM, args=["--no-sandbox"]
        )
        try:
            yield browser
        finally:
            browser.close()


class Tab:
    """A page on a phone that minds what went wrong in it."""

    def __init__(self, context: BrowserContext, address: str) -> None:
        self.context, self.address = context, address
        self.page: Page = context.new_page()
        self.page.set_default_timeout(20_000)
        self.wrong: list[str] = []
        self.hosts: set[str] = set()
        self.page.on("pageerror", lambda problem: self.wrong.append(str(problem)))
        self.page.on("console", self._heard)
        self.page.on(
            "request", lambda asked: self.hosts.add(urlsplit(asked.url).netloc)
        )

    def _heard(self, said: Any) -> None:
        # A reading in doubt is answered 409, which the console calls an error.
        if said.type == "error" and "Failed to load resource" not in said.text:
            self.wrong.append(said.text)

    def go(self, path: str) -> Tab:
        """Open a page by its path."""
        self.page.goto(self.address + path.removeprefix("/"))
        return self

    def fits(self) -> None:
        """Check that all fits the screen and can be hit with a thumb."""
        page = self.page
        wide = page.evaluate("document.documentElement.scrollWidth")
        assert wide <= page.viewport_size["width"], page.url
        assert page.evaluate(_SMALL) == [], page.url

    def follow(self, what: str) -> None:
        """Tap something that leads to another page, and wait for that."""
        with self.page.expect_navigation():
            self.page.tap(what)

    def read(self, value: str) -> None:
        """Enter a reading with the page's own keys."""
        for sign in value.replace("-", "−"):
            self.page.click(f".digits .key:text-is('{sign}')")
        self.page.click("#keep")

    def is_well(self) -> None:
        """Check that nothing went wrong and nobody else was asked for anything."""
        assert self.wrong == []
        assert self.hosts == {urlsplit(self.address).netloc}


def a_tab(
    browser: Browser,
    address: str,
    *,
    scheme: Literal["light", "dark"] = "dark",
    script: bool = True,
    **size: int,
) -> Tab:
    """Open a phone of its own, with no cookies and nothing stored."""
    context = browser.new_context(
        viewport=SIZE | size,
        color_scheme=scheme,
        has_touch=True,
        java_script_enabled=script,
    )
    return Tab(context, address)
