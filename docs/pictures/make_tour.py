"""Makes the pictures of docs/tour.md anew: the invented job of samples/, its screens and report.

python docs/pictures/make_tour.py    # needs Debian's chromium and the packages for the tests
"""

from __future__ import annotations

import html
import os
import shlex
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

from playwright.sync_api import Browser, sync_playwright

HERE = Path(__file__).parent
SAMPLES = HERE.parents[1] / "samples"
CHROMIUM = os.environ.get("FIELDNOTE_CHROMIUM") or shutil.which("chromium")
START = (
    "start --procedure rudder-angle-sender --meter bench-meter --serial INVENTED-17 "
    '--asset "harbour workboat (invented), rudder-angle sender" '
    '--complaint "helm indicator jumps near hard to port"'
)
TERMINAL = """<meta charset="utf-8"><style>body {{ margin: 0; background: #14181d }}
pre {{ color: #e6e9ec; font: 15px/1.25 "DejaVu Sans Mono", monospace; padding: 16px; margin: 0;
display: inline-block; white-space: pre-wrap; width: 100ch }}</style><pre>{}</pre>"""


def typed(home: Path, *commands: str, stdin: str | None = None) -> str:
    """What a terminal of 100 columns shows of the commands, prompts and answers."""
    seen = ""
    environment = os.environ | {"FIELDNOTE_HOME": str(home), "COLUMNS": "100"}
    for command in commands:
        done = subprocess.run(
            [sys.executable, "-m", "fieldnote", *shlex.split(command)],
            env=environment, cwd=SAMPLES, input=stdin, capture_output=True, text=True, check=False,
        )  # fmt: skip
        if done.returncode not in {0, 1}:
            raise SystemExit(f"fieldnote {command}: {done.stderr}")
        seen += f"$ fieldnote {command}\n{done.stdout}\n"
    return seen


def shoot(browser: Browser, text: str, name: str) -> None:
    """A picture of terminal text."""
    with browser.new_page(viewport={"width": 940, "height": 200}) as page:
        page.set_content(TERMINAL.format(html.escape(text.rstrip())))
        page.locator("pre").screenshot(path=HERE / f"tour-{name}.png")


def main() -> None:
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright:
        home, report = Path(folder) / "log", Path(folder) / "report.html"
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        shoot(browser, typed(home, START, 'take text confirmed sound "24.6 volts dc"'), "start")
        lines = "confirmed\npin one red\npin two black\n"
        guided = typed(home, "guide", stdin=lines)
        shoot(browser, "$ fieldnote guide\n" + guided[guided.rindex("╭─ step") :], "guide")
        spoken = typed(
            home,
            'take text "pin three white with a blue tracer"',
            'take photo --caption "connector, open" connector-open.jpg',
            'take text "11.50 megohms" "103.2 ohms"',
            "take sound 3-resistance.wav",
            'take text "boot on the connector is torn, renewed and greased"',
            'take photo --caption "sender as left" sender-fitted.jpg',
        )
        shoot(browser, spoken[spoken.index("$ fieldnote take sound") :], "take")
        typed(home, "close")
        shoot(browser, typed(home, "show"), "show")
        typed(home, f"report -o {report}")
        with browser.new_page(viewport={"width": 900, "height": 1000}) as page:
            page.goto(report.as_uri())
            page.screenshot(path=HERE / "tour-report.png")
        browser.close()


if __name__ == "__main__":
    main()
