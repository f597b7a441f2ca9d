"""The same report as a tagged PDF (PDF/UA-1), for those who file and print."""

from __future__ import annotations

import logging
from typing import Literal

from fieldnote.errors import BadInputError, MissingPartError

Paper = Literal["A4", "Letter"]
PAPERS: tuple[Paper, ...] = ("A4", "Letter")


def pdf(page: str, paper: str = "A4") -> bytes:
    """A PDF of a self-contained HTML page.

    Raises:
        MissingPartError: WeasyPrint or one of its system libraries is not installed.
        BadInputError: the paper is not known.
    """
    known = {name.lower(): name for name in PAPERS}
    if paper.lower() not in known:
        raise BadInputError(f"The paper {paper!r} is not known.", f"Use {' or '.join(PAPERS)}.")
    try:
        from weasyprint import CSS, HTML  # type: ignore[import-untyped]
        from weasyprint.urls import URLFetcher  # type: ignore[import-untyped]
    except (ImportError, OSError) as error:
        raise MissingPartError(
            "A PDF needs WeasyPrint, which is not installed here.",
            "Install it with: pip install 'fieldnote[pdf]', or print the HTML report.",
        ) from error

    # It warns of each rule meant for screens; what goes wrong in earnest is raised.
    logging.getLogger("weasyprint").setLevel(logging.ERROR)
    inside_only = URLFetcher(allowed_protocols=("data",))
    made = HTML(string=page, url_fetcher=inside_only).write_pdf(
        stylesheets=[CSS(string=f"@page {{ size: {known[paper.lower()]} }}")],
        pdf_variant="pdf/ua-1",
    )
    return bytes(made)
