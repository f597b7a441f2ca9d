"""The phone page: exactly once, and closed to everybody without a code."""

from __future__ import annotations

import hashlib
import ipaddress
import ssl
import threading
import uuid
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import httpx2
import pytest
from axe_playwright_python.sync_playwright import Axe
from cryptography import x509
from playwright.sync_api import Browser, expect, sync_playwright
from starlette.testclient import TestClient

from fieldnote.errors import BadInputError
from fieldnote.joblog import JobLog
from fieldnote.review.web import Invitation
from fieldnote.review.web.capture_app import HEADER, LARGEST, capture_app
from fieldnote.review.web.certificate import make
from fieldnote.review.web.guard import WRONG, OneTimeCodes
from fieldnote.review.web.inbox import Inbox
from fieldnote.review.web.serve import bind, server
from tests.review import invented_job as invented
from tests.review.conftest import CHROMIUM, QUIET
from tests.review.hands import Written, now
from tests.review.test_review_in_browser import RULES

HOST = "127.0.0.1"
ENOUGH = """() => new Promise((done) => {
    const look = setInterval(() => {
        if (hearing?.pieces.length > 3) { clearInterval(look); done(); }
    }, 20);
})"""
REF = "pump-7"


@pytest.fixture
def inbox(log: JobLog) -> Inbox:
    log.start_job({"asset": "Lift pump (invented)"}, at=now(), ref=REF)
    return Inbox(log, REF, lambda ref: Written(log, ref), locale="en")


@pytest.fixture
def codes() -> OneTimeCodes:
    return OneTimeCodes()


@pytest.fixture
def stranger(inbox: Inbox, codes: OneTimeCodes) -> TestClient:
    app = capture_app(inbox, keys=codes, hosts=[HOST], locale="en")
    return TestClient(app, base_url=f"https://{HOST}:8443", follow_redirects=False)


@pytest.fixture
def phone(stranger: TestClient, codes: OneTimeCodes) -> TestClient:
    assert stranger.get(f"/enter/{codes.fresh()}").status_code == 303
    return stranger


def put(
    phone: TestClient, content: bytes, kind: str = "audio/wav", item: str | None = None
) -> httpx2.Response:
    item = item or str(uuid.uuid4())
    headers = {"content-type": kind, HEADER: item}
    return phone.put(f"/items/{item}", content=content, headers=headers)


def taken(log: JobLog) -> list[Any]:
    return [record for record in log.records(REF) if record.kind != "start"]


# ------------------------------------------------------------------ exactly once


def test_sound_picture_and_text_arrive_as_they_were_sent(phone: TestClient, log: JobLog):
    wav, jpeg = invented.tone(), invented.photo()
    assert put(phone, wav).json()["messages"] == ["written"]
    assert put(phone, jpeg, "image/jpeg").json()["tone"] == "pass"
    assert put(phone, "10,6 Ohm grün".encode(), "text/plain; charset=utf-8").is_success
    sound, picture, text = taken(log)
    assert sound.evidence[0].path.read_bytes() == wav
    assert picture.evidence[0].path.read_bytes() == jpeg
    assert text.body["entry"]["text"] == "10,6 Ohm grün"


def test_an_item_sent_twice_is_stored_once_and_answered_alike(phone: TestClient, log: JobLog):
    item = str(uuid.uuid4())
    first, again = (
        put(phone, b"typed", "text/plain", item),
        put(phone, b"typed", "text/plain", item),
    )
    assert first.json() == again.json()
    assert len(taken(log)) == 1


def test_an_item_sent_many_times_at_once_is_stored_once(phone: TestClient, log: JobLog):
    item, wav = str(uuid.uuid4()), invented.tone(0.3)
    with ThreadPoolExecutor(6) as pool:
        answers = list(pool.map(lambda _: put(phone, wav, item=item), range(12)))
    assert {answer.status_code for answer in answers} == {200}
    assert len(taken(log)) == 1


@pytest.mark.parametrize("kind", ["audio/wav", "image/jpeg", "text/plain"])
def test_a_crash_in_the_middle_neither_doubles_nor_hides(phone: TestClient, log: JobLog, kind: str):
    item = str(uuid.uuid4())
    content = {"audio/wav": invented.tone(), "image/jpeg": invented.photo()}.get(kind, b"typed")
    length = str(log.job(REF).records)
    put(phone, content, kind, item)
    (log.home / "inbox" / f"{item}.json").unlink()  # as if the crash came before the answer
    (log.home / "inbox" / f"{item}.begun").write_text(length)
    again = put(phone, content, kind, item).json()
    assert len(taken(log)) == 1
    if kind == "text/plain":  # nothing in a text tells whether that record is it: a person looks
        assert again["refused"]
        assert "Look at the last entries" in again["messages"][0]
    else:
        assert again["messages"] == ["stored as no. 2"]


def test_a_crash_before_anything_was_stored_loses_nothing(phone: TestClient, log: JobLog):
    item = str(uuid.uuid4())
    (log.home / "inbox" / f"{item}.begun").write_text(str(log.job(REF).records))
    assert put(phone, b"typed", "text/plain", item).json()["messages"] == ["written"]
    assert len(taken(log)) == 1


def test_what_cannot_be_used_is_refused_once_and_in_words(phone: TestClient, log: JobLog):
    item = str(uuid.uuid4())
    answer = put(phone, b"RIFF\x00\x00\x00\x00WAVE", item=item)
    assert answer.json()["refused"] is True
    assert "too short" in answer.json()["messages"][0]
    assert put(phone, b"RIFF\x00\x00\x00\x00WAVE", item=item).json() == answer.json()
    assert taken(log) == []


def test_nothing_is_left_lying_about(phone: TestClient, log: JobLog):
    put(phone, invented.tone())
    put(phone, b"no picture", "image/jpeg")
    assert [path.suffix for path in (log.home / "inbox").iterdir()] == [".json"]


# ------------------------------------------------------------------ turned away


def test_a_code_lets_in_one_device_once(inbox: Inbox, codes: OneTimeCodes):
    app = capture_app(inbox, keys=codes, hosts=[HOST])
    code = codes.fresh()
    one, two = (
        TestClient(app, base_url=f"https://{HOST}", follow_redirects=False) for _ in range(2)
    )
    assert one.get(f"/enter/{code}").status_code == 303
    assert one.get("/").status_code == 200
    assert two.get(f"/enter/{code}").status_code == 403
    assert two.get("/").status_code == 403


def test_a_newer_code_voids_the_older(stranger: TestClient, codes: OneTimeCodes):
    old, new = codes.fresh(), codes.fresh()
    assert stranger.get(f"/enter/{old}").status_code == 403
    assert stranger.get(f"/enter/{new}").status_code == 303


@pytest.mark.parametrize("path", ["/", "/state", "/look/capture.js", "/items/x", "/anything"])
def test_nothing_is_reachable_without_a_code(stranger: TestClient, codes: OneTimeCodes, path: str):
    codes.fresh()
    answer = stranger.get(path)
    assert answer.status_code == 403
    assert "pump" not in answer.text


def test_an_item_without_a_code_is_not_even_read(stranger: TestClient, log: JobLog):
    assert put(stranger, invented.tone()).status_code == 403
    assert taken(log) == []


def test_the_cookie_travels_over_https_alone(stranger: TestClient, codes: OneTimeCodes):
    cookie = stranger.get(f"/enter/{codes.fresh()}").headers["set-cookie"].lower()
    assert "secure" in cookie
    assert "httponly" in cookie
    assert "samesite=strict" in cookie


@pytest.mark.parametrize(
    "headers",
    [
        {"origin": "https://evil.example"},
        {"origin": "null"},
        {"sec-fetch-site": "cross-site"},
        {"host": "evil.example"},
        {HEADER: ""},
        {HEADER: str(uuid.uuid4())},
    ],
)
def test_other_sites_send_nothing(phone: TestClient, log: JobLog, headers: dict[str, str]):
    item = str(uuid.uuid4())
    sent = {"content-type": "text/plain", HEADER: item, **headers}
    answer = phone.put(f"/items/{item}", content=b"forged", headers=sent)
    assert answer.status_code in (400, 403, 421)
    assert taken(log) == []


@pytest.mark.parametrize(
    "item",
    [
        "x",
        "..",
        "..%2f..%2flog.db",
        "0" * 36,
        "%00",
        "3b3b8534-e8ee-11f1-b496-02fc00000001",
        "6eb0256e-9b55-4138-afe4-9c8117160ee2.json",
    ],
)
def test_an_item_cannot_name_a_path(phone: TestClient, log: JobLog, item: str):
    sent = {"content-type": "text/plain", HEADER: item}
    answer = phone.put(f"/items/{item}", content=b"x", headers=sent)
    assert answer.status_code in (400, 404, 405)
    assert taken(log) == []


@pytest.mark.parametrize(
    ("kind", "content"),
    [
        ("audio/wav", b""),
        ("audio/wav", b"ID3 not a wav at all"),
        ("image/jpeg", b"<svg onload=alert(1)>"),
        ("image/png", b"\x89PNG but no more"),
        ("text/plain", b"\x00\x01"),
        ("text/html", b"<script>"),
        ("application/octet-stream", b"x"),
        ("", b"x"),
    ],
)
def test_what_is_not_what_it_says_is_refused(
    phone: TestClient, log: JobLog, kind: str, content: bytes
):
    assert put(phone, content, kind).status_code == 415
    assert taken(log) == []


def test_an_oversized_item_is_refused_before_it_is_stored(phone: TestClient, log: JobLog):
    item = str(uuid.uuid4())
    sent = {"content-type": "audio/wav", HEADER: item, "content-length": str(LARGEST + 1)}
    assert phone.put(f"/items/{item}", content=b"RIFF", headers=sent).status_code == 413

    def flow() -> Iterator[bytes]:  # no length told beforehand
        yield b"RIFF\x00\x00\x00\x00WAVE"
        for _ in range(LARGEST // (1 << 20) + 1):
            yield b"\x00" * (1 << 20)

    sent = {"content-type": "audio/wav", HEADER: item}
    assert phone.put(f"/items/{item}", content=flow(), headers=sent).status_code == 413
    assert taken(log) == []
    assert list((log.home / "inbox").iterdir()) == []


# ------------------------------------------------------------------ over real HTTPS


@pytest.fixture
def served(inbox: Inbox, codes: OneTimeCodes, tmp_path: Path) -> Iterator[str]:
    certificate = make([HOST])
    (tmp_path / "cert.pem").write_bytes(certificate.cert)
    (tmp_path / "key.pem").write_bytes(certificate.key)
    listening = bind(HOST, 0)
    app = capture_app(inbox, keys=codes, hosts=[HOST], locale="en")
    running = server(app, cert=str(tmp_path / "cert.pem"), key=str(tmp_path / "key.pem"))
    thread = threading.Thread(target=running.run, kwargs={"sockets": [listening]})
    thread.start()
    yield f"https://{HOST}:{listening.getsockname()[1]}"
    running.should_exit = True
    thread.join()


def test_a_flood_of_guesses_is_turned_away_and_the_right_code_still_opens(
    served: str, codes: OneTimeCodes, tmp_path: Path
):
    """Loopback only; 150 requests, six at once."""
    code = codes.fresh()
    trust = ssl.create_default_context(cafile=str(tmp_path / "cert.pem"))
    with httpx2.Client(verify=trust, base_url=served, timeout=20) as client:
        with ThreadPoolExecutor(6) as pool:
            guesses = [client.build_request("GET", f"/enter/guess-{n}") for n in range(150)]
            statuses = list(pool.map(lambda guess: client.send(guess).status_code, guesses))
        assert set(statuses) <= {403, 429, 503}
        assert statuses.count(403) <= WRONG
        assert client.get(f"/enter/{code}").status_code == 303


def test_the_certificate_is_for_this_address_and_its_fingerprint_is_the_one_shown():
    made = make(["192.0.2.7", "localhost"])
    cert = x509.load_pem_x509_certificate(made.cert)
    names = cert.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    assert names.get_values_for_type(x509.IPAddress) == [ipaddress.ip_address("192.0.2.7")]
    assert names.get_values_for_type(x509.DNSName) == ["localhost"]
    der = ssl.PEM_cert_to_DER_cert(made.cert.decode())
    assert made.fingerprint.replace(":", "").lower() == hashlib.sha256(der).hexdigest()


def test_the_invitation_is_a_qr_code_of_the_address():
    shown = Invitation("https://192.0.2.7:8443/enter/abc", "AA:BB", lambda: "").qr
    assert len(shown.splitlines()) > 10


def test_a_taken_port_is_said_so():
    with bind(HOST, 0) as taken_port, pytest.raises(BadInputError, match="port"):
        bind(HOST, taken_port.getsockname()[1])


@pytest.fixture(scope="module")
def phone_browser() -> Iterator[Browser]:
    if CHROMIUM is None:
        pytest.skip("No chromium found: apt-get install chromium, or set FIELDNOTE_CHROMIUM")
    fake = ["--use-fake-device-for-media-stream", "--use-fake-ui-for-media-stream"]
    with sync_playwright() as playwright:
        opened = playwright.chromium.launch(executable_path=CHROMIUM, args=[*QUIET, *fake])
        yield opened
        opened.close()


def test_a_lost_connection_costs_nothing_and_doubles_nothing(
    phone_browser: Browser, served: str, codes: OneTimeCodes, log: JobLog
):
    context = phone_browser.new_context(
        ignore_https_errors=True, viewport={"width": 390, "height": 780}
    )
    page = context.new_page()
    page.goto(f"{served}/enter/{codes.fresh()}")
    expect(page.locator("#link")).to_have_text("All sent")

    context.set_offline(True)
    for text in ("first", "second"):
        page.get_by_label("Or type it").fill(text)
        page.keyboard.press("Enter")
    expect(page.locator("#link")).to_have_text("No connection; kept here and sent later")
    assert page.evaluate("words.waiting.replace('{number}', 2)") == "2 waiting to be sent"
    assert taken(log) == []

    context.set_offline(False)
    expect(page.locator("#link")).to_have_text("All sent", timeout=10_000)
    page.reload()
    expect(page.locator("#link")).to_have_text("All sent")
    assert [record.body["entry"]["text"] for record in taken(log)] == ["first", "second"]
    context.close()


def test_holding_records_and_the_finder_photographs(
    phone_browser: Browser, served: str, codes: OneTimeCodes, log: JobLog, tmp_path: Path
):
    context = phone_browser.new_context(ignore_https_errors=True)
    page = context.new_page()
    page.goto(f"{served}/enter/{codes.fresh()}")
    expect(page.locator("#link")).to_have_text("All sent")

    speak = page.get_by_role("button", name="Hold and speak")
    speak.focus()
    page.keyboard.down(" ")
    expect(speak).to_have_attribute("aria-pressed", "true")
    page.evaluate(ENOUGH)
    with page.expect_response("**/items/*"):
        page.keyboard.up(" ")
    expect(page.locator("#last")).to_have_text("written")

    page.get_by_role("button", name="Photo of the display").click()
    with page.expect_response("**/items/*"):
        page.get_by_role("button", name="Take it").click()
    expect(page.locator("#finder")).to_be_hidden()
    context.close()

    sound, picture = taken(log)
    assert sound.evidence[0].path.read_bytes()[:4] == b"RIFF"
    assert sound.evidence[0].size > 16000
    assert picture.evidence[0].path.read_bytes()[:3] == b"\xff\xd8\xff"


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_the_phone_page_is_accessible(
    phone_browser: Browser, served: str, codes: OneTimeCodes, scheme: str
):
    context = phone_browser.new_context(
        ignore_https_errors=True,
        bypass_csp=True,
        color_scheme=scheme,  # type: ignore[arg-type]
        viewport={"width": 360, "height": 740},
    )
    page = context.new_page()
    page.goto(f"{served}/enter/{codes.fresh()}")
    expect(page.locator("#link")).to_have_text("All sent")
    for opened in (False, True):
        if opened:
            page.get_by_role("button", name="Photo of the display").click()
            expect(page.locator("#finder")).to_be_visible()
        found = Axe().run(page, options=RULES)
        assert found.violations_count == 0, found.generate_report()
    assert page.evaluate("document.documentElement.scrollWidth") <= 360
    context.close()
