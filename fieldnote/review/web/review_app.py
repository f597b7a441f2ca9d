"""The review pages: jobs, one job's entries, an asset's history, reports. Drawn on the server."""

from __future__ import annotations

import secrets
from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any
from urllib.parse import parse_qs, quote

from starlette.applications import Starlette
from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import FileResponse, HTMLResponse, RedirectResponse, Response
from starlette.routing import Route
from starlette.types import ASGIApp

from fieldnote.errors import BadInputError, FieldnoteError, StoreError
from fieldnote.joblog import Job, JobLog
from fieldnote.review import picture, sound
from fieldnote.review.connector import colours
from fieldnote.review.history import histories
from fieldnote.review.pages import environment
from fieldnote.review.phrases import Phrases
from fieldnote.review.report import VARIANTS, html, reading_bar
from fieldnote.review.story import Line, Story, tell
from fieldnote.review.texts import Texts
from fieldnote.review.travel import travels
from fieldnote.review.web.files import is_digest, static_file
from fieldnote.review.web.guard import Guard, StandingKey, TooLargeError
from fieldnote.review.web.hand import Hands

LOOPBACK = ("127.0.0.1", "localhost", "::1")
PAGE = 50  # entries on one page
STORIES = 4
JOBS = 100  # jobs on one page
REPORT_POLICY = "default-src 'none'; style-src 'unsafe-inline'; img-src data:; media-src data:"
FILTERS: dict[str, Callable[[Line], bool]] = {
    "all": lambda line: True,
    "unsettled": lambda line: _unsettled(line),
    "outside": lambda line: line.judged and line.result in ("fail", "indeterminate"),
    "changed": lambda line: bool(line.changes or line.withdrawn or line.rereadings),
}


def review_app(
    log: JobLog,
    *,
    secret: str,
    hands: Hands | None = None,
    locale: str | None = None,
    hosts: tuple[str, ...] = LOOPBACK,
) -> ASGIApp:
    """The application; to be bound to loopback.

    Args:
        secret: at least 128 random bits; ``/enter/<secret>`` is the only way in.
        hands: who corrects, withdraws and answers; without, the pages only show.
        hosts: names we answer to.
    """
    pages = _Pages(log, Texts(locale), hands)
    app = Starlette(
        routes=[
            Route("/", pages.jobs),
            Route("/jobs/{ref}", pages.job),
            Route("/jobs/{ref}/report", pages.report),
            Route("/jobs/{ref}/{number:int}/{deed}", pages.change, methods=["POST"]),
            Route("/asset", pages.asset),
            Route("/evidence/{sha256}/sound", pages.sound),
            Route("/evidence/{sha256}/picture", pages.picture),
            Route("/look/{name}", static_file),
        ],
        exception_handlers={
            FieldnoteError: pages.trouble,
            HTTPException: pages.not_here,
            TooLargeError: pages.too_large,
        },
    )
    return Guard(app, keys=StandingKey(secret), hosts=hosts)


@dataclass(frozen=True, slots=True)
class _Sheet:
    """One page of a long list. number: from 1."""

    number: int
    count: int
    items: list[Any]


class _Pages:
    def __init__(self, log: JobLog, texts: Texts, hands: Hands | None) -> None:
        self.log, self.t, self.hands = log, texts, hands
        self.templates = environment(texts)
        self.stories: OrderedDict[tuple[str, int], Story] = OrderedDict()  # the last few opened
        self.notes: OrderedDict[str, str] = OrderedDict()  # told once, on the page after a deed

    # -------------------------------------------------------------- pages

    def jobs(self, request: Request) -> Response:
        wanted = request.query_params.get("q", "").strip()
        jobs = self.log.jobs()
        if wanted:
            inside = {hit_job(hit) for hit in self.log.search(wanted, limit=1000)}
            jobs = [job for job in jobs if job.root in inside or _mentions(job, wanted)]
        sheet = _sheet(jobs, request.query_params.get("page"), JOBS)
        return self._page("jobs.html", request, jobs=sheet, wanted=wanted, found=len(jobs))

    def job(self, request: Request) -> Response:
        ref = request.path_params["ref"]
        story = self._story(ref)
        show = request.query_params.get("show", "all")
        chosen = FILTERS.get(show, FILTERS["all"])
        lines = sorted(filter(chosen, story.lines), key=lambda line: not _unsettled(line))
        sheet = _sheet(lines, request.query_params.get("page"), PAGE)
        return self._page(
            "job.html",
            request,
            story=story,
            p=Phrases(self.t, story.steps),
            sheet=sheet,
            show=show,
            counts={name: sum(map(test, story.lines)) for name, test in FILTERS.items()},
            bars={line.now.number: reading_bar(line.now) for line in sheet.items},
            curves={it.line.now.number: it for it in travels(sheet.items, self.t)},
            unsettled=_unsettled,
            media=_media,
            swatches=colours,
            variants=VARIANTS,
            may_change=self.hands is not None and story.closed is None,
        )

    def asset(self, request: Request) -> Response:
        name = request.query_params.get("name", "")
        serial = request.query_params.get("serial", "")
        jobs = [
            job
            for job in self.log.jobs()
            if str(job.facts.get("asset") or "") == name
            and str(job.facts.get("serial") or "") == serial
        ]
        if not jobs:
            raise HTTPException(404)
        stories = [self._story(job.ref) for job in reversed(jobs)]
        return self._page(
            "asset.html",
            request,
            name=name,
            serial=serial,
            stories=stories,
            histories=histories(stories, self.t),
            p=Phrases(self.t),
        )

    def report(self, request: Request) -> Response:
        variant = request.query_params.get("variant", "service")
        page = html(tell(self.log, request.path_params["ref"]), self.t, variant)
        return HTMLResponse(page, headers={"content-security-policy": REPORT_POLICY})

    def _story(self, ref: str) -> Story:
        """A job's story, kept while no record is added: turning pages need not read it again."""
        job = self.log.job(ref)
        now = (job.root, job.records)
        if now not in self.stories:
            self.stories[now] = tell(self.log, ref, check=False)
            while len(self.stories) > STORIES:
                self.stories.popitem(last=False)
        return self.stories[now]

    # -------------------------------------------------------------- evidence

    def sound(self, request: Request) -> Response:
        return FileResponse(self._evidence(request, sound.SUFFIXES), media_type="audio/flac")

    def picture(self, request: Request) -> Response:
        path = self._evidence(request, picture.SUFFIXES)
        box = request.query_params.get("box")
        corners = [pair.split(",") for pair in box.split(" ")] if box else None
        image = picture.crop(path, corners) if corners else picture.whole(path)
        if image is None:
            raise HTTPException(404)
        return Response(image.data, media_type="image/jpeg")

    def _evidence(self, request: Request, suffixes: frozenset[str]) -> Any:
        digest = request.path_params["sha256"]
        if not is_digest(digest):
            raise HTTPException(404)
        try:
            path = self.log.evidence(digest)
        except BadInputError as error:
            raise HTTPException(404) from error
        if path.suffix.lower() not in suffixes:
            raise HTTPException(404)
        return path

    # -------------------------------------------------------------- deeds

    async def change(self, request: Request) -> Response:
        """Correct, withdraw or answer one entry; then back to it."""
        try:
            form = parse_qs((await request.body()).decode("utf-8", "replace"), max_num_fields=8)
        except ValueError as error:
            raise HTTPException(400, self.t("The form was not one of ours.")) from error
        if form.get("token") != [request.scope["form_token"]]:
            raise HTTPException(403, self.t("The form was not one of ours."))
        return await run_in_threadpool(self._change, request, form)

    def _change(self, request: Request, form: dict[str, list[str]]) -> Response:
        ref, number = request.path_params["ref"], request.path_params["number"]
        deed = request.path_params["deed"]
        if self.hands is None or deed not in ("correct", "withdraw", "answer"):
            raise HTTPException(404)
        text, why = (form.get(name, [""])[0].strip() for name in ("text", "why"))
        if deed != "withdraw" and not text:
            raise BadInputError(self.t("Nothing was entered, so nothing was changed."))
        if deed != "answer" and not why:
            raise BadInputError(self.t("A change needs its reason, so nothing was changed."))
        hand = self.hands(ref)
        if deed == "correct":
            outcome = hand.correct(number, text, why)
        elif deed == "withdraw":
            outcome = hand.withdraw(number, why)
        else:
            outcome = hand.answer(number, text)
        note = secrets.token_urlsafe(8)
        self.notes[note] = outcome.message
        while len(self.notes) > 32:
            self.notes.popitem(last=False)
        anchor = form.get("anchor", [""])[0]
        anchor = f"#e{anchor}" if anchor.isdecimal() else ""
        return RedirectResponse(f"/jobs/{quote(ref)}?note={note}{anchor}", status_code=303)

    # -------------------------------------------------------------- trouble

    def trouble(self, request: Request, error: Exception) -> Response:
        status = 500 if isinstance(error, StoreError) else 400
        return self._page("trouble.html", request, status=status, words=str(error))

    def not_here(self, request: Request, error: Exception) -> Response:
        status = error.status_code if isinstance(error, HTTPException) else 404
        words = self.t("There is nothing at this address.")
        if status != 404 and isinstance(error, HTTPException):
            words = error.detail
        return self._page("trouble.html", request, status=status, words=words)

    def too_large(self, request: Request, error: Exception) -> Response:
        words = self.t("That is too large.")
        return self._page("trouble.html", request, status=413, words=words)

    def _page(self, template: str, request: Request, status: int = 200, **values: Any) -> Response:
        note = self.notes.pop(request.query_params.get("note", ""), "")
        page = self.templates.get_template(f"pages/{template}").render(
            note=note, token=request.scope["form_token"], **values
        )
        return HTMLResponse(page, status_code=status)


def hit_job(hit: Any) -> str:
    """The job's lasting name of something that a search found."""
    return str(getattr(hit, "record", hit).job)


def _unsettled(line: Line) -> bool:
    if line.withdrawn is not None or line.answered is not None:
        return False
    return line.kind == "question" or line.conflict or line.now.kind == "unclear"


def _mentions(job: Job, wanted: str) -> bool:
    facts = (str(value) for value in job.facts.values() if isinstance(value, str))
    return any(wanted.lower() in text.lower() for text in (job.ref, *facts))


def _sheet(items: list[Any], page: str | None, size: int) -> _Sheet:
    count = max(1, -(-len(items) // size))
    number = min(max(int(page), 1), count) if page and page.isdecimal() and len(page) < 9 else 1
    return _Sheet(number, count, items[(number - 1) * size : number * size])


def _media(line: Line) -> list[tuple[str, str]]:
    """Kind and address of each sound and picture of a line, the cut-out display first."""
    found = []
    pictures = [file for file in line.files if file.suffix in picture.SUFFIXES]
    for file in line.files:
        if file.suffix in sound.SUFFIXES and file.path:
            found.append(("sound", f"/evidence/{file.sha256}/sound"))
    source = line.now.source if line.now.files else line.original.source
    if len(pictures) > 1 and pictures[1].path:
        found.append(("crop", f"/evidence/{pictures[1].sha256}/picture"))
    elif pictures and pictures[0].path and source.get("box"):
        box = quote(" ".join(f"{x},{y}" for x, y in source["box"]))
        found.append(("crop", f"/evidence/{pictures[0].sha256}/picture?box={box}"))
    if pictures and pictures[0].path:
        found.append(("picture", f"/evidence/{pictures[0].sha256}/picture"))
    return found
