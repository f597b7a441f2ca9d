"""How templates are filled: every value escaped, every word through the catalogue."""

from __future__ import annotations

from jinja2 import Environment, PackageLoader, StrictUndefined

from fieldnote.review.texts import Texts


def environment(texts: Texts) -> Environment:
    """Templates of this package with the words of ``texts``.

    Undefined names are errors: a report with a silent gap would look complete.
    """
    made = Environment(
        loader=PackageLoader("fieldnote.review", "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=False,
        extensions=["jinja2.ext.i18n"],
    )
    made.install_gettext_translations(texts.translations, newstyle=True)  # type: ignore[attr-defined]
    made.globals["t"] = texts
    return made
