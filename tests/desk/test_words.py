"""Every stored word has its English and its Spanish."""

import gettext
from pathlib import Path

import pytest
from django.conf import settings
from django.utils import translation

from inspections.models.alerts import Severity
from inspections.models.checkins import Action, Outcome
from inspections.models.progress import StageState
from inspections.rules.table import ADVICE, TITLES
from inspections.standards.limits import Mark
from openings.sequence.state import ConflictCode
from sitetrack.desk.words import FOUND, REPORTED, TABLES, word

# Written alike in both languages.
ALIKE = {"no", "Supervisor", "Inspector", "UFGS 08110", "SDI A250.8", "HMMA 861"}


@pytest.mark.parametrize(
    ("table", "stored"),
    [
        ("state", StageState.values),
        ("action", Action.values),
        ("verdict", Outcome.values),
        ("severity", Severity.values),
        ("conflict", list(ConflictCode)),
        ("mark", list(Mark)),
    ],
)
def test_every_value_that_is_stored_has_a_word(table: str, stored: list[str]) -> None:
    assert set(TABLES[table]) >= set(stored)


def test_whatever_is_reported_can_be_counted_in_words() -> None:
    assert set(REPORTED) >= set(Action.values)
    assert set(FOUND) >= set(Outcome.values)


@pytest.mark.parametrize("table", sorted(TABLES))
def test_every_word_has_its_spanish(table: str) -> None:
    for value in TABLES[table]:
        with translation.override("en"):
            english = word(table, value)
        with translation.override("es"):
            assert word(table, value) != english or english in ALIKE, (table, value)


def test_every_alert_rule_speaks_spanish() -> None:
    for words in (TITLES, ADVICE):
        for rule, said in words.items():
            with translation.override("en"):
                english = str(said)
            with translation.override("es"):
                assert str(said) != english, rule


def test_no_string_of_the_catalogue_is_left_untranslated() -> None:
    folder = Path(settings.LOCALE_PATHS[0]) / "es" / "LC_MESSAGES"
    with (folder / "django.mo").open("rb") as compiled:
        told = gettext.GNUTranslations(compiled)
    source = (folder / "django.po").read_text(encoding="utf-8")
    assert "#, fuzzy" not in source
    wanted = source.count("\nmsgid ")  # the header stands on the first line
    assert wanted == len({key[0] if isinstance(key, tuple) else key for key in told._catalog} - {""})
