"""Field data that named what the site does not have: placed or discarded by a supervisor, never thrown away."""

from datetime import timedelta
from typing import Any

import pytest

from inspections.models import CheckIn, CheckInPhoto, FrameCheck, KeptAside, Progress
from inspections.services.work_out import work_out
from inspections.sync.kept_aside import discard_kept_aside, place_kept_aside
from inspections.sync.push import Push, push
from openings.models import DirtyOpening, Opening, Site
from sitetrack.access.models import Membership, Person
from sitetrack.access.roles import Role, Trade
from sitetrack.kit.problems import BadInput, Conflict, Forbidden, NotFound
from tests import builders as b
from tests.published_shapes import check_problem

pytestmark = pytest.mark.django_db

THURSDAY = b.MONDAY + 3 * b.DAY
SLOW = timedelta(minutes=4)  # how far this phone's clock is behind
PHOTO = "ab" * 32


@pytest.fixture
def clinic() -> Site:
    return b.site("clinic")


@pytest.fixture
def hand(clinic: Site) -> Person:
    return b.crew(clinic)


@pytest.fixture
def opening(clinic: Site) -> Opening:
    return b.opening(clinic, "B1-2014")


def kept(hand: Person, opening: Opening, *, now: Any = b.MONDAY, **members: Any) -> tuple[KeptAside, dict[str, Any]]:
    """An item whose number was misread, sent from a phone with a slow clock; and the item as sent."""
    phone, _ = b.device(opening.site, hand)
    item = b.push_item(opening, **{"opening": "B1-2041", "counter": 7, **members})
    (result,) = push(batch=Push(hand, phone, now - SLOW, [item]), now=now).results
    assert result.outcome == "kept_aside"
    return KeptAside.objects.get(pk=item["id"]), item


def place(item: KeptAside, opening: Opening, stage: str = "receive", **more: Any) -> CheckIn:
    who = more.pop("who", None) or b.supervisor(opening.site)
    return place_kept_aside(item=item, opening=opening, stage=stage, who=who, now=more.pop("now", THURSDAY))


def test_a_placed_item_counts_as_of_when_it_happened_and_is_received_when_placed(
    hand: Person, opening: Opening
) -> None:
    item, raw = kept(hand, opening, now=b.MONDAY + b.DAY, note="north stack", helmet="yellow", photos=[PHOTO])
    placed = place(item, opening)
    assert str(placed.pk) == raw["id"]
    assert placed.corrected_at == b.MONDAY + SLOW
    assert placed.uncertainty_ms == item.uncertainty_ms
    assert placed.received_at == THURSDAY, "a week already issued is not restated"
    assert (placed.person, placed.company_id, placed.device_id) == (hand, item.company_id, item.device_id)
    assert (placed.note, placed.counter, placed.extra) == ("north stack", 7, {"helmet": "yellow"})
    assert list(CheckInPhoto.objects.values_list("check_in", "digest")) == [(placed.pk, PHOTO)]
    assert DirtyOpening.objects.filter(opening=opening).exists(), "work is owed on it"


def test_a_placed_item_is_folded_in(hand: Person, opening: Opening) -> None:
    item, _ = kept(hand, opening)
    place(item, opening)
    work_out(opening_ids=[opening.pk], now=THURSDAY)
    assert Progress.objects.get(opening=opening).state["stages"]["receive"]["state"] == "done"


def test_a_placed_reading_is_judged(hand: Person, opening: Opening) -> None:
    item, _ = kept(hand, opening, stage="trueness", readings=b.TWISTED_READINGS, answers=b.TRUENESS_ANSWERS)
    placed = place(item, opening, "trueness")
    assert placed.verdict == "fail"
    assert FrameCheck.objects.get(check_in=placed).read_at == placed.corrected_at


def test_the_item_itself_stays_with_who_settled_it(hand: Person, opening: Opening) -> None:
    item, raw = kept(hand, opening)
    place(item, opening)
    item.refresh_from_db()
    assert (item.settled, item.settled_by, item.settled_at) == ("placed", b.supervisor(opening.site), THURSDAY)
    assert item.payload == raw


def test_the_phone_that_sends_it_again_hears_that_it_is_known(hand: Person, opening: Opening) -> None:
    item, raw = kept(hand, opening, readings={"width_head": "36"}, stage="trueness")
    place(item, opening, "trueness")
    (result,) = push(batch=Push(hand, item.device, THURSDAY, [raw]), now=THURSDAY).results
    assert (result.outcome, result.problem) == ("known", None)
    assert CheckIn.objects.count() == 1


def test_placing_again_at_the_same_place_gives_the_same_check_in(hand: Person, opening: Opening) -> None:
    item, _ = kept(hand, opening)
    first = place(item, opening)
    assert place(item, opening, who=b.member(opening.site, Role.SUPERVISOR)).pk == first.pk
    assert CheckIn.objects.count() == 1


def test_placing_elsewhere_what_is_settled_is_a_conflict(hand: Person, opening: Opening) -> None:
    item, _ = kept(hand, opening)
    place(item, opening)
    with pytest.raises(Conflict, match="Already placed"):
        place(item, b.opening(opening.site))
    with pytest.raises(Conflict):
        discard_kept_aside(item=item, who=b.supervisor(opening.site), why="too late", now=THURSDAY)
    assert CheckIn.objects.get().opening == opening


def test_a_discarded_item_stays_on_record_with_the_reason(hand: Person, opening: Opening) -> None:
    item, raw = kept(hand, opening)
    boss = b.supervisor(opening.site)
    for _ in range(2):
        discard_kept_aside(item=item, who=boss, why=" Sent from the wrong job. ", now=THURSDAY)
    item.refresh_from_db()
    assert (item.settled, item.settled_why, item.payload) == ("discarded", "Sent from the wrong job.", raw)
    assert not CheckIn.objects.exists()
    with pytest.raises(Conflict, match="wrong job"):
        place(item, opening)


@pytest.mark.parametrize("why", ["", "   ", "x" * 301])
def test_discarding_takes_a_reason_that_can_be_kept(hand: Person, opening: Opening, why: str) -> None:
    item, _ = kept(hand, opening)
    with pytest.raises(BadInput):
        discard_kept_aside(item=item, who=b.supervisor(opening.site), why=why, now=THURSDAY)


@pytest.mark.parametrize("role", [Role.INSPECTOR, Role.CREW, Role.VIEWER])
def test_only_a_supervisor_settles_what_was_kept_aside(hand: Person, opening: Opening, role: str) -> None:
    item, _ = kept(hand, opening)
    who = b.member(opening.site, role, trades=[Trade.FRAME_CREW])
    with pytest.raises(Forbidden):
        place(item, opening, who=who)
    with pytest.raises(Forbidden):
        discard_kept_aside(item=item, who=who, why="mine", now=THURSDAY)
    with pytest.raises(Forbidden):
        place(item, opening, who=b.supervisor(b.site()))


def test_what_its_sender_could_not_report_cannot_be_placed(opening: Opening) -> None:
    painter = b.crew(opening.site, Trade.PAINTER)
    item, _ = kept(painter, opening)
    with pytest.raises(Forbidden, match="trade"):
        place(item, opening, "anchor")
    item.refresh_from_db()
    assert item.settled == "", "it waits on, to be placed elsewhere or discarded"
    assert place(item, opening, "finish").stage == "finish"


def test_a_placed_signature_is_by_the_role_its_sender_had(hand: Person, opening: Opening) -> None:
    reading = b.frame_check(hand, opening)
    item, _ = kept(hand, opening, stage="trueness", action="sign", about=reading.pk)
    Membership.objects.filter(person=hand).update(role=Role.SUPERVISOR)
    with pytest.raises(Forbidden):
        place(item, opening, "trueness")


def test_a_hand_who_changed_company_is_placed_for_the_company_of_then(hand: Person, opening: Opening) -> None:
    item, _ = kept(hand, opening)
    Membership.objects.filter(person=hand).update(ended_at=b.MONDAY + b.DAY)
    Membership.objects.create(site=opening.site, person=hand, company=b.company(), role=Role.VIEWER)
    assert place(item, opening).company_id == item.company_id


def test_a_stage_or_an_opening_that_is_not_there_is_refused_in_words(hand: Person, opening: Opening) -> None:
    item, _ = kept(hand, opening)
    with pytest.raises(BadInput, match="stage"):
        place(item, opening, "polish")
    with pytest.raises(NotFound):
        place_kept_aside(
            item=item, opening=b.opening(b.site()), stage="receive", who=b.supervisor(opening.site), now=THURSDAY
        )
    item.refresh_from_db()
    assert item.settled == ""


def test_over_the_api_a_supervisor_places_and_discards(hand: Person, opening: Opening) -> None:
    api = b.client(b.supervisor(opening.site))
    first, _ = kept(hand, opening)
    answer = api.post(f"/api/v1/kept-aside/{first.pk}/place", {"opening": "b1-2014", "stage": "receive"})
    assert (answer.status_code, answer.json()["settled"]) == (200, "placed")
    assert Progress.objects.get(opening=opening).state["stages"]["receive"]["state"] == "done", "worked out at once"
    second, _ = kept(hand, opening)
    answer = api.post(f"/api/v1/kept-aside/{second.pk}/discard", {"why": "Twice the same."})
    assert (answer.status_code, answer.json()["settled_why"]) == (200, "Twice the same.")
    check_problem(api.post(f"/api/v1/kept-aside/{second.pk}/place", {"opening": "B1-2014", "stage": "set"}), 409)


def test_over_the_api_it_is_refused_in_words(hand: Person, opening: Opening) -> None:
    item, _ = kept(hand, opening)
    body = {"opening": "B1-2014", "stage": "receive"}
    address = f"/api/v1/kept-aside/{item.pk}/place"
    check_problem(b.client(b.supervisor(opening.site)).post(address, body | {"opening": "Z9"}), 422, "bad-input")
    check_problem(b.client(b.supervisor(opening.site)).post(address, {}), 422, "bad-input")
    check_problem(b.client(hand).post(address, body), 403, "forbidden")
    check_problem(b.client(b.crew(opening.site, Trade.DRYWALL)).post(address, body), 404, "not-found")
    check_problem(b.client().post(address, body), 401)
