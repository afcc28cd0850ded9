"""Verdicts worked out before the site's lock is had hold only where nothing they rest on has changed by then."""

from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inspections.models import FrameCheck, SealedEntry, ToleranceProfile
from inspections.services import batch, check_ins, judging_ahead
from inspections.services.sealing import content_of, digest_of_content, digest_of_json
from inspections.sync.push import Push, push
from openings.models import Opening, Site
from sitetrack.kit.canonical import canonical_json
from sitetrack.kit.lengths import INCH
from tests import builders as b

pytestmark = pytest.mark.django_db


@pytest.fixture
def clinic() -> Site:
    return b.site()


@pytest.fixture
def doors(clinic: Site) -> list[Opening]:
    return b.openings(clinic, judging_ahead.WORTHWHILE)


def read_all(doors: list[Opening]) -> list[dict[str, Any]]:
    """A true frame read at each door, in one push; what the server made of each."""
    items = [b.push_item(door, "trueness", readings=b.TRUE_READINGS) for door in doors]
    pushed = push(batch=Push(b.crew(doors[0].site), None, b.MONDAY, items), now=b.MONDAY)
    assert [result.outcome for result in pushed.results] == ["stored"] * len(doors)
    return [result.verdict or {} for result in pushed.results]


def count_judging(monkeypatch: pytest.MonkeyPatch, module: Any) -> list[None]:
    calls: list[None] = []
    judge = module.judge_report

    def counted(*args: Any, **told: Any) -> Any:
        calls.append(None)
        return judge(*args, **told)

    monkeypatch.setattr(module, "judge_report", counted)
    return calls


def change_between(monkeypatch: pytest.MonkeyPatch, change: Callable[[], Any]) -> None:
    """Somebody else changes the site after the judging and before the lock."""
    ahead = check_ins.judge_ahead

    def then_changed(*args: Any) -> Any:
        found = ahead(*args)
        assert found
        change()
        return found

    monkeypatch.setattr(check_ins, "judge_ahead", then_changed)


def test_a_batch_is_judged_before_the_lock_and_not_again(doors: list[Opening], monkeypatch: pytest.MonkeyPatch) -> None:
    before, under = count_judging(monkeypatch, judging_ahead), count_judging(monkeypatch, batch)
    read_all(doors[:1])  # the site's first reading makes its first profile
    assert (len(before), len(under)) == (0, 1)
    verdicts = read_all(doors)
    assert (len(before), len(under)) == (len(doors), 1)
    assert {verdict["verdict"] for verdict in verdicts} == {"incomplete"}, "the checklist was not answered"


def test_an_opening_that_changed_meanwhile_is_judged_as_it_is_now(
    doors: list[Opening], monkeypatch: pytest.MonkeyPatch
) -> None:
    read_all(doors[:1])
    change_between(monkeypatch, lambda: Opening.objects.filter(pk=doors[3].pk).update(width=INCH * 42))
    verdicts = read_all(doors)
    failed = [place for place, verdict in enumerate(verdicts) if verdict["verdict"] == "fail"]
    assert failed == [3], "36 in read in an opening that is 42 in wide by now"
    assert FrameCheck.objects.filter(opening=doors[3], verdict="fail").exists()


def test_tolerances_that_changed_meanwhile_judge_every_reading(
    clinic: Site, doors: list[Opening], monkeypatch: pytest.MonkeyPatch
) -> None:
    read_all(doors[:1])
    first = ToleranceProfile.objects.get(site=clinic)
    under = count_judging(monkeypatch, batch)
    change_between(
        monkeypatch,
        lambda: ToleranceProfile.objects.create(site=clinic, version=2, data=first.data, made_at=b.MONDAY),
    )
    read_all(doors)
    assert len(under) == len(doors)
    assert FrameCheck.objects.filter(profile__version=2).count() == len(doors)


def test_a_reading_that_can_not_be_read_is_refused_in_words(clinic: Site, doors: list[Opening]) -> None:
    read_all(doors[:1])
    items = [b.push_item(door, "trueness", readings=b.TRUE_READINGS | {"twist": "a bit"}) for door in doors]
    pushed = push(batch=Push(b.crew(clinic), None, b.MONDAY, items), now=b.MONDAY)
    assert {result.outcome for result in pushed.results} == {"refused"}
    assert all("twist" in str(result.problem) for result in pushed.results)


def test_what_is_sealed_of_a_verdict_written_ahead_is_what_is_stored(clinic: Site, doors: list[Opening]) -> None:
    read_all(doors[:1])
    read_all(doors)
    for check in FrameCheck.objects.select_related("check_in"):
        entry = SealedEntry.objects.get(subject=check.pk)
        assert entry.content_digest == digest_of_json(content_of(check.check_in, check, None))


AWKWARD = st.sampled_from(['"judged":null', '\\"judged":null', "judged", "check", '{"judged":null}']) | st.text(
    st.characters(exclude_categories=["Cs"]), max_size=20
)


@given(AWKWARD, st.dictionaries(AWKWARD, st.booleans()), st.dictionaries(AWKWARD, AWKWARD), st.none() | AWKWARD)
def test_whatever_the_words_around_it_the_verdict_is_put_in_its_place(
    note: str, answers: dict[str, bool], readings: dict[str, str], about: str | None
) -> None:
    judged = {"verdict": "pass", "items": [{"note": note, "judged": None}]}
    content = {
        "about": about, "answers": answers, "note": note, "readings": readings,
        "check": {"verdict": "pass", "profile": note, "judged": judged}, "sign_off": None,
    }  # fmt: skip
    assert digest_of_content(content, canonical_json(judged)) == digest_of_json(content)
