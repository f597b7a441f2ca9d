"""The report in a real browser: readable by all, playing, printing, asking the network nothing."""

from __future__ import annotations

import subprocess
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser

RULES = {"runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]}


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_it_is_accessible_on_screen(browser: Browser, page_file: Path, scheme: str):
    with browser.new_page(color_scheme=scheme) as page:  # type: ignore[arg-type]
        asked: list[str] = []
        page.on("request", lambda request: asked.append(request.url))
        page.goto(page_file.as_uri())
        # axe-core judges after WCAG 2.2; the page's own policy would keep it out.
        found = Axe().run(page, options=RULES)
        assert found.violations_count == 0, found.generate_report()
        checked = {rule["id"] for rule in found.response["passes"]}
        assert {"color-contrast", "image-alt", "region", "td-headers-attr"} <= checked
        assert [u for u in asked if not u.startswith(("file:", "data:"))] == []


def test_sound_plays_and_pictures_show(browser: Browser, page_file: Path):
    with browser.new_page() as page:
        page.goto(page_file.as_uri())
        length = page.evaluate(
            """async () => {
                const audio = document.querySelector('audio');
                audio.muted = true;
                await audio.play();
                return audio.duration;
            }"""
        )
        assert length == pytest.approx(1.4, abs=0.1)
        widths = page.evaluate("[...document.images].map(image => image.naturalWidth)")
        assert widths
        assert min(widths) > 0


def test_it_never_scrolls_sideways_on_a_phone(browser: Browser, page_file: Path):
    with browser.new_page(viewport={"width": 360, "height": 740}) as page:
        page.goto(page_file.as_uri())
        assert page.evaluate("document.documentElement.scrollWidth") <= 360


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_its_first_printed_page_is_the_summary(
    browser: Browser, page_file: Path, tmp_path: Path, paper: str
):
    with browser.new_page() as page:
        page.goto(page_file.as_uri())
        page.pdf(path=tmp_path / "r.pdf", format=paper)
    run = ["pdftotext", "-layout", "-l", "1", str(tmp_path / "r.pdf"), "-"]
    first = subprocess.run(run, capture_output=True, text=True, check=True).stdout
    assert "What was found" in first
    assert "Verification code" in first
    assert "Cautions" not in first
