"""The phone speaks both languages of the site, whole."""

import re
from typing import Any

import pytest
from django.utils import translation

from inspections.models.checkins import Action, Outcome
from inspections.rules.table import TITLES
from inspections.standards.limits import Mark
from inspections.trueness.measures import MEASURES
from openings.sequence.state import State
from sitetrack.access.roles import Role, Trade
from sitetrack.desk.words import word
from sitetrack.field.shell import shell_files

pytestmark = pytest.mark.browser

SOURCES = {path.name: path.read_text(encoding="utf-8") for path in shell_files() if path.suffix == ".js"}


@pytest.fixture
def words(modules: Any) -> dict[str, dict[str, str]]:
    return modules.evaluate("import('/static/field/language.js').then((language) => language.WORDS)")


def test_both_languages_say_the_same_things(words: dict[str, dict[str, str]]) -> None:
    assert words["en"].keys() == words["es"].keys()
    for key, english in words["en"].items():
        spanish = words["es"][key]
        assert spanish.strip(), key
        assert set(re.findall(r"\{\w+\}", english)) == set(re.findall(r"\{\w+\}", spanish)), key


def test_every_word_a_page_asks_for_is_there(words: dict[str, dict[str, str]]) -> None:
    for name, text in SOURCES.items():
        asked = set(re.findall(r'\bt\("([a-z_]+)"', text))
        many = {f"{key}_{form}" for key in re.findall(r'\bt\.many\("([a-z_]+)"', text) for form in ("one", "other")}
        assert asked | many <= words["en"].keys(), name


def test_every_stored_word_has_its_own(words: dict[str, dict[str, str]]) -> None:
    wanted = [f"state_{state.value.replace(' ', '_')}" for state in State]
    wanted += [f"action_{action}" for action in Action.values]
    wanted += [f"trade_{trade}" for trade in Trade.values] + [f"role_{role}" for role in Role.values]
    wanted += [f"verdict_{outcome}" for outcome in Outcome.values]
    wanted += [f"mark_{mark}" for mark in Mark]
    wanted += [f"m_{name}" for name in MEASURES] + [f"how_{name}" for name in MEASURES]
    assert [key for key in wanted if key not in words["en"]] == []


@pytest.mark.parametrize("language", ["en", "es"])
def test_phone_and_desk_call_alerts_and_trades_by_the_same_names(
    words: dict[str, dict[str, str]], language: str
) -> None:
    """A hand and the supervisor who talk of one alert must not have two names for it."""
    told = words[language]
    with translation.override(language):
        for rule, title in TITLES.items():
            assert told[f"alert_{rule.replace('-', '_')}"] == str(title)
        for trade in Trade.values:
            if trade not in Role.values:
                assert told[f"trade_{trade}"] == word("trade", trade).lower()


def test_spanish_has_one_word_for_what_stops_an_opening(words: dict[str, dict[str, str]]) -> None:
    """The hand who reads that it waits to be released looks for that word on the key that does so."""
    near = ("held_text", "hold_release", "hold_from_check", "action_release")
    assert all("libera" in words["es"][key].lower() or "liberen" in words["es"][key] for key in near)


def test_no_word_is_left_that_nothing_says(words: dict[str, dict[str, str]]) -> None:
    said = "\n".join(
        text for name, text in SOURCES.items() if not name.startswith(("words_", "measure_w", "caution_w"))
    )
    groups = ("state_", "action_", "trade_", "role_", "verdict_", "alert_", "m_", "how_", "side_", "length_", "fact_",
              "item_", "mark_", "reason_", "caution_", "units_", "construction_", "finish_check_")  # fmt: skip
    unsaid = [
        key
        for key in words["en"]
        if not key.startswith(groups) and f'"{re.sub("_(one|other)$", "", key)}"' not in said and f'"{key}"' not in said
    ]
    assert unsaid == []


def test_phone_knows_the_measures_of_the_server_and_no_others(modules: Any) -> None:
    known = modules.evaluate("import('/static/field/measures.js').then((module) => module.MEASURES)")
    assert known == {name: measure.kind.value for name, measure in MEASURES.items()}
