"""One list of all texts, and languages that have every one of them."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from babel.messages.pofile import read_po

from fieldnote.joblog import JobLog, Record
from fieldnote.review import report
from fieldnote.review.texts import CATALOGUE, Texts, languages
from tests.review import invented_job as invented
from tests.review.words import POT, collected, texts_of

PLACE = re.compile(r"%\(\w+\)s|\{\w+\}")
OTHERS = [name for name in languages() if name != "en"]


def test_the_list_is_up_to_date():
    with POT.open("rb") as file:
        listed = texts_of(read_po(file))
    assert listed == texts_of(collected()), "run: python -m tests.review.words"


@pytest.mark.parametrize("language", OTHERS)
def test_a_language_has_every_text_with_the_same_places(language: str):
    with (CATALOGUE / f"{language}.po").open("rb") as file:
        catalogue = read_po(file, locale=language)
    assert texts_of(catalogue) == texts_of(collected())
    for message in catalogue:
        if not message.id:
            continue
        forms = [message.id] if isinstance(message.id, str) else list(message.id)
        told = [message.string] if isinstance(message.string, str) else list(message.string)
        assert all(told), f"{message.id} has no translation"
        for text in told:
            assert sorted(PLACE.findall(text)) == sorted(PLACE.findall(forms[-1])), message.id


def test_a_report_in_german_has_no_english_of_ours_left(
    log: JobLog, made: dict[str, Record], tmp_path: Path
):
    text = report(log, invented.REF, tmp_path / "r.html", locale="de").read_text("utf-8")
    assert '<html lang="de">' in text
    for words in ("Offene Punkte", "nicht bestanden", "10,60\xa0Ω", "4. März 2031", "Prüfcode"):
        assert words in text, words
    for words in ("Open points", "Verification code", "outside its window", "How taken"):
        assert words not in text, words


def test_plurals_follow_the_language():
    one, many = "%(num)s job", "%(num)s jobs"
    assert [Texts("de").count(one, many, n) for n in (1, 2)] == ["1 Auftrag", "2 Aufträge"]
