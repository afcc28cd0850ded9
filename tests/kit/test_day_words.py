"""Days as the reader's language writes them."""

from datetime import UTC, datetime

import pytest
from django.template import Context, Template
from django.utils import translation

from sitetrack.kit.day_words import day_words

AT = datetime(2026, 11, 2, 14, 5, tzinfo=UTC)


@pytest.mark.parametrize(("language", "said"), [("en", "Mon 2 Nov 14:05"), ("es", "lun 2 nov 14:05")])
def test_months_are_small_in_spanish_on_pages_and_in_mails(language: str, said: str) -> None:
    with translation.override(language):
        assert day_words(AT, "D j M H:i") == said
        assert Template('{{ at|date:"D j M H:i" }}').render(Context({"at": AT})) == said


@pytest.mark.parametrize("language", ["en", "es"])
def test_what_machines_read_stays_as_it_is(language: str) -> None:
    with translation.override(language):
        assert Template('{{ at|date:"c" }}').render(Context({"at": AT})) == AT.isoformat()
        assert Template('{{ none|date:"j M" }}').render(Context({"none": None})) == ""
