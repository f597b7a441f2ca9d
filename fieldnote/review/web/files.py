"""The few files that pages ask for beside themselves: styles and scripts of this package."""

from __future__ import annotations

import re
from pathlib import Path

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import FileResponse, Response

TEMPLATES = Path(__file__).parent.parent / "templates"
STATIC = {
    "look.css": (TEMPLATES / "look.css", "text/css"),
    "pages.css": (TEMPLATES / "pages" / "pages.css", "text/css"),
    "review.js": (TEMPLATES / "pages" / "review.js", "text/javascript"),
    "capture.css": (TEMPLATES / "pages" / "capture.css", "text/css"),
    "capture.js": (TEMPLATES / "pages" / "capture.js", "text/javascript"),
}
_DIGEST = re.compile(r"[0-9a-f]{64}")


def static_file(request: Request) -> Response:
    """One of ``STATIC``, by its name alone: there is no path to walk out of."""
    found = STATIC.get(request.path_params["name"])
    if found is None:
        raise HTTPException(404)
    return FileResponse(found[0], media_type=found[1])


def is_digest(text: str) -> bool:
    """Whether a text is a SHA-256 in hexadecimal."""
    return _DIGEST.fullmatch(text) is not None
