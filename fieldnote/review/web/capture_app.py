"""The page for taking entries with a phone, and what it sends."""

from __future__ import annotations

import tempfile
from collections.abc import Iterable
from pathlib import Path

from starlette.applications import Starlette
from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import ClientDisconnect, Request
from starlette.responses import HTMLResponse, JSONResponse, Response
from starlette.routing import Route
from starlette.types import ASGIApp

from fieldnote.errors import FieldnoteError, StoreError
from fieldnote.review.pages import environment
from fieldnote.review.texts import Texts
from fieldnote.review.web.files import static_file
from fieldnote.review.web.guard import Guard, Keys, TooLargeError
from fieldnote.review.web.inbox import ITEM, KINDS, Answer, Inbox

LARGEST = 24 * 1024 * 1024  # bytes of one item: a photo of a good phone, or two minutes of sound
HEADER = "x-fieldnote-item"  # a page of another site cannot send it without asking first


def capture_app(
    inbox: Inbox, *, keys: Keys, hosts: Iterable[str], locale: str | None = None
) -> ASGIApp:
    """The application; to be served over HTTPS on the local network.

    Args:
        keys: usually ``OneTimeCodes``: nothing answers before one is spent.
        hosts: names and addresses it is served under.
    """
    page = _Page(inbox, Texts(locale))
    app = Starlette(
        routes=[
            Route("/", page.page),
            Route("/state", page.state),
            Route("/items/{item}", page.item, methods=["PUT"]),
            Route("/look/{name}", static_file),
        ],
        exception_handlers={
            FieldnoteError: page.trouble,
            TooLargeError: page.too_large,
            HTTPException: page.not_here,
        },
    )
    return Guard(app, keys=keys, hosts=hosts, largest=LARGEST, cookie="fieldnote-phone")


class _Page:
    def __init__(self, inbox: Inbox, texts: Texts) -> None:
        self.inbox, self.t = inbox, texts
        self.templates = environment(texts)

    def page(self, request: Request) -> Response:
        job = self.inbox.log.job(self.inbox.ref)
        page = self.templates.get_template("pages/capture.html")
        return HTMLResponse(page.render(ref=job.ref, asset=job.facts.get("asset") or ""))

    def state(self, request: Request) -> Response:
        """What the next step asks."""
        return JSONResponse({"step": self.inbox.step()})

    async def item(self, request: Request) -> Response:
        """Take one item; sent again, it is answered alike and not stored again."""
        item = request.path_params["item"]
        kind = request.headers.get("content-type", "").partition(";")[0].strip().lower()
        if not ITEM.fullmatch(item) or request.headers.get(HEADER) != item:
            raise HTTPException(400, self.t("That is not an item of the phone page."))
        if kind not in KINDS:
            raise HTTPException(415, self.t("Only sound, pictures and text are taken."))
        suffix, fits = KINDS[kind]
        # In the log's own folder: a disk that is full says so before the item counts as arrived.
        with tempfile.TemporaryDirectory(dir=self.inbox.folder, prefix="arriving-") as folder:
            arrived = Path(folder) / f"{item}{suffix}"
            await self._receive(request, arrived)
            with arrived.open("rb") as file:
                head = file.read(16)
            if not head or not fits(head):
                raise HTTPException(415, self.t("The item is not what it says it is."))
            answer = await run_in_threadpool(self.inbox.take, item, kind, arrived)
        return JSONResponse(await run_in_threadpool(self._told, answer))

    async def _receive(self, request: Request, arrived: Path) -> None:
        try:
            with arrived.open("wb") as file:
                async for block in request.stream():
                    file.write(block)
        except ClientDisconnect as error:
            raise HTTPException(400, self.t("The connection broke off.")) from error
        except OSError as error:
            raise StoreError(
                f"The item could not be stored: {error.strerror or error}.",
                "Make room, then retry.",
            ) from error

    def _told(self, answer: Answer) -> dict[str, object]:
        return {
            "messages": answer.messages or (self.t("Nothing was heard."),),
            "spoken": answer.spoken,
            "tone": answer.tone,
            "refused": answer.refused,
            "step": self.inbox.step(),
        }

    def trouble(self, request: Request, error: Exception) -> Response:
        """503 means: send it again later."""
        status = 503 if isinstance(error, StoreError) else 400
        return JSONResponse({"messages": [str(error)]}, status_code=status)

    def too_large(self, request: Request, error: Exception) -> Response:
        return JSONResponse({"messages": [self.t("That is too large.")]}, status_code=413)

    def not_here(self, request: Request, error: Exception) -> Response:
        status, words = 404, self.t("There is nothing at this address.")
        if isinstance(error, HTTPException):
            status = error.status_code
            words = words if status == 404 else error.detail
        return JSONResponse({"messages": [words]}, status_code=status)
