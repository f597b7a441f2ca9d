"""The review pages in a real browser against a real server: by eye, by keyboard, for everybody."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page, expect

from fieldnote.joblog import JobLog
from fieldnote.review.web import review_app
from fieldnote.review.web.serve import bind, server
from tests.review import invented_job as invented
from tests.review.hands import Written, now
from tests.review.test_review_in_browser import RULES

PLAYS = """() => document.querySelector(".entry audio").duration > 1"""
SECRET = "a-secret-of-this-test-only-0123456789"


@pytest.fixture
def address(log: JobLog) -> Iterator[str]:
    made = invented.write(log)
    log.reopen_job(invented.REF, {"why": "review"}, at=now())
    assert made
    app = review_app(log, secret=SECRET, hands=lambda ref: Written(log, ref), locale="en")
    listening = bind("127.0.0.1", 0)
    running = server(app)
    thread = threading.Thread(target=running.run, kwargs={"sockets": [listening]})
    thread.start()
    yield f"http://127.0.0.1:{listening.getsockname()[1]}"
    running.should_exit = True
    thread.join()


def entered(page: Page, address: str) -> Page:
    page.goto(f"{address}/enter/{SECRET}")
    assert page.url == f"{address}/"
    return page


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_all_pages_are_accessible(browser: Browser, address: str, scheme: str):
    with browser.new_page(color_scheme=scheme, bypass_csp=True) as page:  # type: ignore[arg-type]
        entered(page, address)
        machine = page.get_by_role("link", name="Harbour workboat").get_attribute("href")
        for path in ("/", f"/jobs/{invented.REF}", machine, "/nowhere"):
            page.goto(f"{address}{path}")
            found = Axe().run(page, options=RULES)
            assert found.violations_count == 0, found.generate_report()
            assert {"color-contrast", "region"} <= {rule["id"] for rule in found.response["passes"]}


def test_the_whole_review_goes_by_keyboard(browser: Browser, address: str, log: JobLog):
    with browser.new_page() as page:
        troubles: list[str] = []
        page.on("console", lambda message: troubles.append(message.text))
        page.on("pageerror", lambda error: troubles.append(str(error)))
        entered(page, address)
        page.get_by_role("link", name=invented.REF, exact=True).press("Enter")
        page.wait_for_url(f"**/jobs/{invented.REF}")  # until its script listens to keys
        entry = page.locator(".entry")
        entry.first.focus()

        page.keyboard.press("a")  # the unclear one comes first: accept its best guess
        expect(page.get_by_role("status")).to_have_text("written")
        expect(page.get_by_text("Answered by No.")).to_be_visible()
        page.wait_for_load_state()  # the page came anew

        entry.first.focus()
        page.keyboard.press("p")
        page.wait_for_function(PLAYS)
        page.keyboard.press("p")

        page.keyboard.press("c")
        page.keyboard.press("Control+A")
        page.keyboard.type("10.70")
        page.keyboard.press("Tab")
        page.keyboard.type("read the display again")
        page.keyboard.press("Enter")
        expect(page.locator(".entry").first.locator("s")).to_have_text("10.60\xa0Ω")
        expect(page.locator(".entry").first).to_contain_text("read the display again")
        expect(page.locator("#e2")).to_be_focused()

        page.keyboard.press("ArrowDown")
        expect(page.locator("#e3")).to_be_focused()
        page.keyboard.press("w")
        page.keyboard.type("wrong display")
        page.keyboard.press("Escape")  # thought better of it
        expect(page.locator("#e3")).to_be_focused()
        assert troubles == []
    kinds = [record.kind for record in log.records(invented.REF)[-2:]]
    assert kinds == ["reading", "correction"]


def test_it_fits_a_phone(browser: Browser, address: str, tmp_path: Path):
    with browser.new_page(viewport={"width": 360, "height": 740}) as page:
        entered(page, address)
        for path in ("/", f"/jobs/{invented.REF}"):
            page.goto(f"{address}{path}")
            assert page.evaluate("document.documentElement.scrollWidth") <= 360
