"""Cautions go with what a stage is, whatever a site calls it."""

import json
from collections.abc import Iterator
from itertools import chain
from pathlib import Path

import pytest

from inspections.standards.cautions import CAUTIONS, Topic
from inspections.standards.cautions_of_stages import BY_MARK, BY_TRADE, OF_A_CHECK, topics_of
from openings.sequence.plan_document import read_plan
from openings.sequence.stage import Kind, Mark, Stage, Trade

FIXTURES = Path(__file__).parents[3] / "fixtures/sequence_plans"


def shipped() -> Iterator[Stage]:
    for path in sorted(FIXTURES.glob("*.json")):
        yield from read_plan(json.loads(path.read_text())).stages


def topics(stage: Stage) -> set[Topic]:
    return set(topics_of(trade=stage.trade, is_check=stage.kind is Kind.CHECK, marks=stage.marks))


def test_every_caution_is_shown_at_some_shipped_stage() -> None:
    assert set(Topic) == set(CAUTIONS)
    assert set(chain.from_iterable(topics(stage) for stage in shipped())) == set(Topic)


def test_every_mark_and_every_trade_that_works_is_thought_of() -> None:
    """Floor layers, supervisors and inspectors have none listed; a new mark or trade must be decided on here."""
    assert set(BY_MARK) == set(Mark)
    assert set(Trade) - set(BY_TRADE) == {Trade.FLOORING, Trade.SUPERVISOR, Trade.INSPECTOR}


@pytest.mark.parametrize(
    ("code", "least"),
    [
        ("receive", {Topic.LIFTING}),
        ("set", {Topic.BRACING, Topic.DUST}),
        ("roughin", {Topic.WIRING}),
        ("anchor", {Topic.WIRING, Topic.RATED}),
        ("close", {Topic.WIRING}),
        ("final", {Topic.RATED}),
    ],
)
def test_the_shipped_stages_have_what_hurts_there(code: str, least: set[Topic]) -> None:
    found = [topics(stage) for stage in shipped() if stage.code == code]
    assert found
    assert all(least <= each for each in found)


def test_a_mark_speaks_before_the_trade_and_a_check_lifts_nothing() -> None:
    """A frame crew's anchoring is about wires in the wall, not about carrying frames."""
    assert Topic.LIFTING not in topics_of(trade="frame_crew", is_check=False, marks=["anchors_frame"])
    assert topics_of(trade="frame_crew", is_check=True, marks=[]) == OF_A_CHECK


def test_marks_together_say_each_caution_once() -> None:
    both = topics_of(trade="mason", is_check=False, marks=["anchors_frame", "closes_wall"])
    assert len(both) == len(set(both))
    assert {Topic.LADDERS, Topic.LIFTING, Topic.WIRING} <= set(both)


def test_a_trade_nobody_listed_has_none_and_the_page_says_that_it_is_not_harmless_for_that() -> None:
    assert topics_of(trade="flooring", is_check=False, marks=[]) == ()
