"""The review pages: what they show, what they change, and whom they turn away."""

from __future__ import annotations

import re
from datetime import timedelta
from typing import Any

import pytest
from starlette.testclient import TestClient

from fieldnote.joblog import JobLog, Record
from fieldnote.review.web import review_app
from fieldnote.review.web.guard import form_token
from tests.review import invented_job as invented
from tests.review.hands import Written, now

SECRET = "a-secret-of-this-test-only-0123456789"
HOME = "http://127.0.0.1:8000"


@pytest.fixture
def open_job(log: JobLog, made: dict[str, Record]) -> dict[str, Record]:
    log.reopen_job(invented.REF, {"why": "review"}, at=now())
    return made


@pytest.fixture
def stranger(log: JobLog) -> TestClient:
    """A browser that does not know the secret."""
    app = review_app(log, secret=SECRET, hands=lambda ref: Written(log, ref), locale="en")
    return TestClient(app, base_url=HOME, follow_redirects=False)


@pytest.fixture
def client(stranger: TestClient) -> TestClient:
    assert stranger.get(f"/enter/{SECRET}").status_code == 303
    return stranger


def token_of(client: TestClient) -> str:
    return form_token(client.cookies["fieldnote"])


def post(client: TestClient, path: str, **form: str) -> Any:
    return client.post(path, data={"token": token_of(client), **form})


JOB = f"/jobs/{invented.REF}"


def test_unclear_entries_come_first(client: TestClient, open_job: dict[str, Record]):
    numbers = [int(n) for n in re.findall(r'id="e(\d+)"', client.get(JOB).text)]
    assert numbers[0] == open_job["question"].number
    assert numbers[1:] == sorted(numbers[1:])


def test_entries_can_be_filtered(client: TestClient, open_job: dict[str, Record]):
    page = client.get(f"{JOB}?show=outside").text
    assert {int(n) for n in re.findall(r'id="e(\d+)"', page)} == {
        open_job["fail"].number,
        open_job["doubt"].number,
        open_job["travel"].number,
    }


def test_a_correction_strikes_the_old_value_and_keeps_the_reason(
    client: TestClient, open_job: dict[str, Record]
):
    number = open_job["good"].number
    answer = post(client, f"{JOB}/{number}/correct", text="10.70", why="read again", anchor="2")
    assert answer.status_code == 303
    assert answer.headers["location"].endswith("#e2")
    page = client.get(answer.headers["location"].partition("#")[0]).text.replace("\xa0", " ")
    assert '<s class="digits">10.60 Ω</s>' in page
    assert "read again" in page
    assert "written" in page


def test_a_withdrawn_entry_stays_in_sight(client: TestClient, open_job: dict[str, Record]):
    assert post(client, f"{JOB}/{open_job['free'].number}/withdraw", why="wrong job").is_redirect
    page = client.get(JOB).text.replace("\xa0", " ")
    assert "<s>12.61 V DC</s>" in page
    assert "wrong job" in page


def test_accepting_the_best_guess_answers_the_question(
    client: TestClient, open_job: dict[str, Record]
):
    page = client.get(JOB).text
    text = re.search(r'name="text" value="([^"]+)"><button class="accept">', page)
    assert text is not None
    number = open_job["question"].number
    assert post(client, f"{JOB}/{number}/answer", text=text[1]).is_redirect
    assert "Answered by No." in client.get(JOB).text
    assert 'class="accept"' not in client.get(JOB).text


@pytest.mark.parametrize(
    "form", [{}, {"text": "10"}, {"why": "because"}, {"text": " ", "why": " "}]
)
def test_a_change_without_value_or_reason_changes_nothing(
    client: TestClient, log: JobLog, open_job: dict[str, Record], form: dict[str, str]
):
    before = len(log.records(invented.REF))
    answer = post(client, f"{JOB}/{open_job['good'].number}/correct", **form)
    assert answer.status_code == 400
    assert "nothing was changed" in answer.text
    assert len(log.records(invented.REF)) == before


def test_what_was_corrected_meanwhile_is_refused_in_words(
    client: TestClient, open_job: dict[str, Record]
):
    number = open_job["good"].number
    post(client, f"{JOB}/{number}/correct", text="10.70", why="read again")
    answer = post(client, f"{JOB}/{number}/correct", text="10.80", why="a second window")
    assert answer.status_code == 400
    assert "already corrected" in answer.text


def test_a_closed_job_is_shown_and_not_changed(client: TestClient, made: dict[str, Record]):
    page = client.get(JOB).text
    assert "<form method" not in page
    assert post(client, f"{JOB}/2/withdraw", why="x").status_code == 400


def test_jobs_are_found_by_what_was_said(client: TestClient, log: JobLog, made: Any):
    log.start_job({"asset": "lift pump (invented)"}, at=now(), ref="pump-7")
    assert "pump-7" in client.get("/").text
    page = client.get("/?q=corrosion").text
    assert invented.REF in page
    assert "pump-7" not in page
    assert "pump-7" in client.get("/?q=LIFT").text
    assert "None found" in client.get("/?q=zeppelin").text


def test_a_machine_has_its_history(client: TestClient, log: JobLog, made: Any):
    invented.write(log, "rudder-02", start=invented.START + timedelta(days=90))
    link = re.search(r'href="(/asset[^"]+)"', client.get("/").text)
    assert link is not None
    page = client.get(link[1].replace("&amp;", "&")).text
    assert "rudder-01, No. 2" in page
    assert "rudder-02, No. 2" in page
    assert "data:image/svg+xml" in page
    assert client.get("/asset?name=nothing").status_code == 404


def test_evidence_is_served_as_it_is(client: TestClient, made: dict[str, Record]):
    clip, photo = made["good"].evidence[0], made["photo"].evidence[0]
    assert client.get(f"/evidence/{clip.sha256}/sound").content == clip.path.read_bytes()
    shown = client.get(f"/evidence/{photo.sha256}/picture?box=228,186 616,170 624,318 236,334")
    assert shown.headers["content-type"] == "image/jpeg"
    assert client.get(f"/evidence/{photo.sha256}/sound").status_code == 404


# ------------------------------------------------------------------ turned away


@pytest.mark.parametrize("path", ["/", JOB, f"{JOB}/report", "/look/look.css", "/nowhere"])
def test_nothing_answers_without_the_secret(stranger: TestClient, made: Any, path: str):
    answer = stranger.get(path)
    assert answer.status_code == 403
    assert invented.REF not in answer.text


@pytest.mark.parametrize("guess", ["", "x", SECRET[:-1], SECRET + "x", "../" + SECRET])
def test_a_wrong_secret_opens_nothing(stranger: TestClient, guess: str):
    assert stranger.get(f"/enter/{guess}").status_code in (403, 404)
    assert not stranger.cookies


def test_the_cookie_is_for_our_pages_alone(stranger: TestClient):
    cookie = stranger.get(f"/enter/{SECRET}").headers["set-cookie"]
    assert SECRET not in cookie
    assert "HttpOnly" in cookie
    assert "samesite=strict" in cookie.lower()


def test_a_foreign_name_for_this_address_is_refused(client: TestClient, made: Any):
    answer = client.get("/", headers={"host": "evil.example:8000"})
    assert answer.status_code == 421


@pytest.mark.parametrize(
    "headers",
    [
        {"origin": "http://evil.example"},
        {"origin": "http://127.0.0.1:9999"},
        {"origin": "null"},
        {"sec-fetch-site": "cross-site"},
        {"sec-fetch-site": "same-site"},
    ],
)
def test_other_sites_change_nothing(
    client: TestClient, log: JobLog, open_job: dict[str, Record], headers: dict[str, str]
):
    before = len(log.records(invented.REF))
    form = {"token": token_of(client), "why": "forged"}
    answer = client.post(f"{JOB}/2/withdraw", data=form, headers=headers)
    assert answer.status_code == 403
    assert len(log.records(invented.REF)) == before


def test_a_form_without_our_token_changes_nothing(
    client: TestClient, log: JobLog, open_job: dict[str, Record]
):
    before = len(log.records(invented.REF))
    for token in ("", "x", SECRET):
        answer = client.post(f"{JOB}/2/withdraw", data={"token": token, "why": "forged"})
        assert answer.status_code == 403
    assert len(log.records(invented.REF)) == before


@pytest.mark.parametrize(
    "path",
    [
        "/look/../pages.py",
        "/look/..%2f..%2fpages.py",
        "/look/%2e%2e/look.css",
        "/look//etc/passwd",
        "/evidence/../../log.db/sound",
        "/evidence/..%2f..%2flog.db/sound",
        f"/evidence/{'0' * 64}/sound",
        f"/evidence/{'*' * 64}/picture",
        "/jobs/..%2f..%2fetc",
        "/jobs/%00",
    ],
)
def test_no_path_leads_out(client: TestClient, made: Any, path: str):
    answer = client.get(path)
    assert answer.status_code in (400, 404)
    assert "root:" not in answer.text
    assert "Traceback" not in answer.text


def test_an_oversized_form_is_refused(client: TestClient, log: JobLog, open_job: Any):
    before = len(log.records(invented.REF))
    assert post(client, f"{JOB}/2/withdraw", why="x" * 70_000).status_code == 413

    def parts() -> Any:  # no length told beforehand
        yield b"token=" + token_of(client).encode() + b"&why="
        for _ in range(40):
            yield b"y" * 4000

    assert client.post(f"{JOB}/2/withdraw", content=parts()).status_code == 413
    assert len(log.records(invented.REF)) == before


@pytest.mark.parametrize("body", [b"\xff\xfe\x00", b"&" * 500, b"token", b"%", b"{}"])
def test_a_malformed_form_is_refused(client: TestClient, open_job: Any, body: bytes):
    answer = client.post(f"{JOB}/2/withdraw", content=body)
    assert answer.status_code in (400, 403)
    assert "Traceback" not in answer.text


def test_every_answer_tells_the_browser_to_stay_inside(client: TestClient, made: Any):
    for path in ("/", JOB, "/nowhere", f"{JOB}/report"):
        headers = client.get(path).headers
        assert "default-src 'none'" in headers["content-security-policy"]
        assert headers["x-content-type-options"] == "nosniff"
        assert headers["cache-control"] == "no-store"
