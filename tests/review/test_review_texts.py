"""Dates, decimals and the catalogue."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest
from babel.numbers import format_decimal
from hypothesis import given
from hypothesis import strategies as st

from fieldnote.review.texts import Texts

WHEN = datetime(2031, 3, 4, 15, 6, tzinfo=UTC)


@given(
    st.decimals(allow_nan=False, allow_infinity=False, places=3, min_value=-9999, max_value=9999)
)
def test_every_digit_of_a_reading_survives_the_locale(number):
    digits = f"{number:f}"
    shown = Texts("de").number(digits)
    assert shown.replace(",", ".").replace("−", "-") == digits


@pytest.mark.parametrize("locale", ["en", "de", "fr", "nb", "en_US", "sv"])
def test_the_decimal_mark_is_the_one_of_the_locale(locale: str):
    # Peer: babel's own formatting after the Unicode CLDR.
    peer = format_decimal(10.5, locale="en_001" if locale == "en" else locale)
    assert Texts(locale).number("10.5") == peer


def test_dates_follow_the_locale_and_clock_times_never_hang_on_am_or_pm():
    assert Texts("en").moment(WHEN) == "4 March 2031, 15:06 (UTC)"
    assert Texts("en_US").day(WHEN) == "March 4, 2031"
    assert Texts("de").day(WHEN) == "4. März 2031"
    assert Texts("en_US").time(WHEN) == "15:06"


@pytest.mark.parametrize("name", ["C", "POSIX", "xx_YY", "", "C.UTF-8"])
def test_an_unknown_locale_is_international_english(name: str, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setenv("LC_ALL", name)
    for other in ("LC_MESSAGES", "LANG"):
        monkeypatch.delenv(other, raising=False)
    assert Texts().day(WHEN) == "4 March 2031"


def test_a_language_without_a_catalogue_says_that_its_words_are_english():
    assert Texts("nb").language == "en"


def test_a_date_of_the_log_is_written_out_and_anything_else_left_alone():
    assert Texts("en").written_day("2031-03-04") == "4 March 2031"
    assert Texts("en").written_day("last spring") == "last spring"
