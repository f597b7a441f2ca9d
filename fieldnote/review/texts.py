"""Words, dates and decimals in the reader's language.

The texts are English in the source. A second language is one file, ``catalogue/<language>.po``;
it is read as it is, so a translator needs no build step to see the work.
"""

from __future__ import annotations

import gettext
import io
import os
from datetime import date, datetime
from functools import lru_cache
from pathlib import Path

from babel import Locale, UnknownLocaleError
from babel.dates import format_date, format_skeleton
from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po
from babel.numbers import get_decimal_symbol

from fieldnote.errors import BadInputError

CATALOGUE = Path(__file__).parent / "catalogue"
INTERNATIONAL_ENGLISH = "en_001"  # day before month, as most of the world writes it

MINUS = "\N{MINUS SIGN}"


class Texts:
    """The texts, dates and decimals of one locale.

    Args:
        locale: a name such as ``de`` or ``en_GB``; None takes the environment's, and international
            English where that is not set or not known.

    Raises:
        BadInputError: the locale is named and not known.
    """

    def __init__(self, locale: str | None = None) -> None:
        found = _locale(locale if locale is not None else _from_environment())
        if found is None and locale is not None:
            raise BadInputError(
                f"The locale {locale!r} is not known.", "Use a name such as en, de or en_GB."
            )
        self.locale = found or Locale.parse(INTERNATIONAL_ENGLISH)
        self.translations = _translations(self.locale.language)
        self._decimal_mark = get_decimal_symbol(self.locale)

    @property
    def language(self) -> str:
        """BCP 47 tag of the language that the words are really in."""
        known = isinstance(self.translations, gettext.GNUTranslations)
        return self.locale.language if known else "en"

    def __call__(self, message: str, **values: object) -> str:
        """The message in this language, with its ``%(name)s`` places filled in."""
        text = self.translations.gettext(message)
        return text % values if values else text

    def count(self, one: str, many: str, number: int) -> str:
        """``one`` or ``many`` as the language's grammar asks; ``%(num)s`` is the number."""
        return self.translations.ngettext(one, many, number) % {"num": number}

    def number(self, digits: str) -> str:
        """Exact digits with this locale's decimal mark; no digit is added, dropped or grouped."""
        return digits.replace("-", MINUS).replace(".", self._decimal_mark)

    def day(self, when: datetime | date) -> str:
        return format_date(when, format="long", locale=self.locale)

    def written_day(self, text: object) -> str:
        """A date that the log holds as text (RFC 3339); anything else as it stands."""
        try:
            return self.day(date.fromisoformat(str(text)))
        except ValueError:
            return str(text)

    def short_day(self, when: datetime | date) -> str:
        """Day and month, for a scale."""
        return format_skeleton("MMMd", when, locale=self.locale)

    def time(self, when: datetime, seconds: bool = False) -> str:
        """Clock time on the 24-hour clock: a log must not hang on an AM or PM."""
        return when.strftime("%H:%M:%S" if seconds else "%H:%M")

    def moment(self, when: datetime) -> str:
        return f"{self.day(when)}, {self.time(when)} ({zone(when)})"


def zone(when: datetime) -> str:
    """Offset from UTC as a log shows it: ``UTC``, ``UTC+02:00``."""
    offset = when.strftime("%z")
    return "UTC" if offset in ("", "+0000") else f"UTC{offset[:3]}:{offset[3:5]}"


def languages() -> list[str]:
    """Languages with a catalogue, English first."""
    return ["en", *sorted(path.stem for path in CATALOGUE.glob("*.po"))]


def _from_environment() -> str:
    for name in ("LC_ALL", "LC_MESSAGES", "LANG"):
        value = os.environ.get(name, "").partition(".")[0].partition("@")[0]
        if value:
            return INTERNATIONAL_ENGLISH if value in ("C", "POSIX") else value
    return INTERNATIONAL_ENGLISH


def _locale(name: str) -> Locale | None:
    try:
        return Locale.parse(INTERNATIONAL_ENGLISH if name == "en" else name.replace("-", "_"))
    except (UnknownLocaleError, ValueError):
        return None


@lru_cache(maxsize=8)
def _translations(language: str) -> gettext.NullTranslations:
    path = CATALOGUE / f"{language}.po"
    if not path.is_file():
        return gettext.NullTranslations()
    compiled = io.BytesIO()
    with path.open("rb") as source:
        write_mo(compiled, read_po(source, locale=language))
    compiled.seek(0)
    return gettext.GNUTranslations(compiled)
