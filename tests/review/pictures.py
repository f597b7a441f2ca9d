"""The pictures of docs/review.md, taken of the real pages with an invented job.

python -m tests.review.pictures [FOLDER]
"""

from __future__ import annotations

import re
import sys
import tempfile
import threading
from datetime import timedelta
from pathlib import Path

from playwright.sync_api import Page, sync_playwright
from rich.console import Console

from fieldnote.joblog import JobLog
from fieldnote.review import report, table
from fieldnote.review.web import review_app
from fieldnote.review.web.capture_app import capture_app
from fieldnote.review.web.guard import StandingKey
from fieldnote.review.web.inbox import Inbox
from fieldnote.review.web.serve import bind, server
from tests.review import invented_job as invented
from tests.review.conftest import CHROMIUM, QUIET
from tests.review.hands import Written, now

SECRET = "pictures-0123456789-0123456789-0123456789"


class Answers(Written):
    message = "no. 21  sender at midships  10.60 Ω  inside 8.2 to 11.8 Ω"


def main() -> None:
    out = Path(sys.argv[1] if len(sys.argv) > 1 else "docs/pictures")
    out.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as folder, JobLog.open(Path(folder) / "home") as log:
        for number in range(3):
            start = invented.START - timedelta(days=60 * (2 - number))
            invented.write(log, f"rudder-0{number + 1}", start=start)
        log.reopen_job("rudder-03", {"why": "review"}, at=now())
        page_file = report(log, "rudder-03", Path(folder) / "r.html", locale="en")
        console = Console(record=True, width=118, file=open("/dev/null", "w"))  # noqa: SIM115, PTH123
        console.print(table(log, "rudder-03", locale="en"))
        drawn = console.export_svg(title="the log of a job")
        drawn = re.sub(r'<g transform="translate\(26,22\)">.*?</g>', "", drawn, flags=re.S)
        (Path(folder) / "t.svg").write_text(drawn, "utf-8")  # without a window's buttons
        app = review_app(log, secret=SECRET, hands=lambda ref: Answers(log, ref), locale="en")
        inbox = Inbox(log, "rudder-03", lambda ref: Answers(log, ref), locale="en")
        phone = capture_app(inbox, keys=StandingKey(SECRET), hosts=["127.0.0.1"], locale="en")
        with sync_playwright() as playwright:
            browser = playwright.chromium.launch(executable_path=CHROMIUM, args=QUIET)
            size = {"width": 1100, "height": 1240}
            for scheme in ("light", "dark"):
                page = browser.new_page(color_scheme=scheme, viewport=size)  # type: ignore[arg-type]
                page.goto(page_file.as_uri())
                page.screenshot(path=out / f"review-report-{scheme}.png")
                with_server(
                    app, lambda address, page=page, scheme=scheme: pages(page, address, out, scheme)
                )
            page = browser.new_page(viewport={"width": 1100, "height": 1000})
            page.goto((Path(folder) / "t.svg").as_uri())
            page.locator("svg").first.screenshot(path=out / "review-terminal.png")
            page = browser.new_page(viewport={"width": 390, "height": 780})
            with_server(phone, lambda address: on_phone(page, address, out))
            browser.close()


def with_server(app: object, act: object) -> None:
    listening = bind("127.0.0.1", 0)
    running = server(app)  # type: ignore[arg-type]
    thread = threading.Thread(target=running.run, kwargs={"sockets": [listening]})
    thread.start()
    try:
        act(f"http://127.0.0.1:{listening.getsockname()[1]}")  # type: ignore[operator]
    finally:
        running.should_exit = True
        thread.join()


def pages(page: Page, address: str, out: Path, scheme: str) -> None:
    page.goto(f"{address}/enter/{SECRET}")
    page.goto(f"{address}/jobs/rudder-03")
    page.screenshot(path=out / f"review-job-{scheme}.png")
    if scheme == "light":
        page.get_by_role("link", name="History of this machine").click()
        page.screenshot(path=out / "review-history.png")


def on_phone(page: Page, address: str, out: Path) -> None:
    page.goto(f"{address}/enter/{SECRET}")
    page.get_by_label("Or type it").fill("sender at midships ten point six zero ohms")
    page.keyboard.press("Enter")
    page.locator("#last.is-pass").wait_for()
    page.screenshot(path=out / "review-phone.png")


if __name__ == "__main__":
    main()
