"""What a phone is told, and when it has to start over."""

import gzip
import json
from datetime import timedelta
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from inspections.models import Alert, ToleranceProfile
from inspections.services.alerts import close
from inspections.sync.cursor import LIFE, read_cursor
from inspections.sync.pull import MOST_CHANGES
from inspections.trueness.profile import ToleranceProfile as Profile
from openings.models import Floor, Opening, ScheduleChange, Site
from openings.services.changes import next_numbers
from openings.services.schedule_record import Change, record_changes
from sitetrack.access.models import Membership, Person
from sitetrack.access.roles import Role, Trade
from sitetrack.kit.clock import rfc3339
from sitetrack.kit.ids import new_id
from sitetrack.kit.problems import NotFound
from tests import builders as b
from tests.inspections.sync.phone_memory import PhoneMemory, assert_holds_the_truth, without_savepoints
from tests.published_shapes import check_problem

pytestmark = pytest.mark.django_db


@pytest.fixture
def clinic() -> Site:
    return b.site("clinic")


@pytest.fixture
def hand(clinic: Site) -> Person:
    return b.crew(clinic)


def take_out_of_schedule(opening: Opening) -> None:
    opening.in_schedule = False
    change = Change(opening, ScheduleChange.Kind.MISSING)
    record_changes(site=opening.site, changes=[change], revision=None, who=b.supervisor(opening.site), now=b.MONDAY)


def kinds(changes: list[dict[str, Any]]) -> list[str]:
    return [change["type"] for change in changes]


def test_a_first_load_tells_the_site_and_every_opening_once(clinic: Site, hand: Person) -> None:
    openings = b.openings(clinic, 7)
    b.check_in(hand, openings[2])
    phone = PhoneMemory(clinic, hand)
    heard = phone.pull_all()
    keys = [(c["type"], c["id"]) for c in heard]
    assert len(keys) == len(set(keys)), "an opening with progress has two numbers and is told once"
    assert kinds(heard)[0] == "site", "without the site a phone can show nothing"
    assert_holds_the_truth(phone)
    told = phone.of("site")[str(clinic.pk)]
    assert (told["role"], told["trades"], told["person"]["name"]) == ("crew", ["frame_crew"], hand.name)


def test_an_opening_is_told_with_what_the_schedule_says_and_where_it_stands(clinic: Site, hand: Person) -> None:
    opening = b.opening(clinic, "B1-2014", covering="")
    ready_at = b.work_up_to(opening, "anchor")
    reading = b.frame_check(hand, opening, at=ready_at)
    phone = PhoneMemory(clinic, hand)
    phone.pull_all()
    told = phone.of("opening")[str(opening.pk)]
    assert told["attributes"]["width"]["mm"] == 914.4
    assert told["attributes"]["rating_minutes"] == 0, "not rated is told, and is not the same as unknown"
    assert told["attributes"]["electrified"] is False
    assert "covering" not in told["attributes"], "what the schedule does not tell is left out"
    standing = told["standing"]["trueness"]
    assert (standing["awaits_signature"], standing["reading"]) == (True, str(reading.pk))
    assert standing["since"] == rfc3339(ready_at)
    plan = phone.of("plan")[told["plan"]]
    assert [s["code"] for s in plan["stages"]][:2] == ["receive", "match"]
    assert set(phone.of("profile")[str(clinic.pk)]["limits"]) >= {"squareness", "alignment", "twist", "plumb"}


def test_nothing_new_is_an_empty_page(clinic: Site, hand: Person) -> None:
    b.openings(clinic, 3)
    phone = PhoneMemory(clinic, hand)
    phone.pull_all()
    assert phone.pull_all() == []


def test_a_change_tells_that_opening_only(clinic: Site, hand: Person) -> None:
    openings = b.openings(clinic, 30)
    phone = PhoneMemory(clinic, hand)
    phone.pull_all()
    b.check_in(hand, openings[11])
    assert [c["id"] for c in phone.pull_all() if c["type"] == "opening"] == [str(openings[11].pk)]
    assert_holds_the_truth(phone)


@pytest.mark.parametrize("limit", [1, 2, 7, 60])
def test_pages_hold_at_most_what_was_asked_for(clinic: Site, hand: Person, limit: int) -> None:
    for opening in b.openings(clinic, 12):
        b.check_in(hand, opening)
        b.alert(opening)
    phone = PhoneMemory(clinic, hand, limit=limit)
    more = True
    while more:
        page = phone.pull_page()
        assert len(page.changes) <= limit
        more = page.more
    assert_holds_the_truth(phone)


def test_an_opening_is_not_parted_from_its_holds(clinic: Site, hand: Person) -> None:
    opening = b.opening(clinic)
    for _ in range(3):
        b.check_in(hand, opening, "set", "hold", note="wall line in doubt")
    phone = PhoneMemory(clinic, hand, limit=1)
    phone.pull_all()
    assert_holds_the_truth(phone)
    assert len(phone.of("hold")) == 3


def test_a_first_load_broken_off_goes_on_where_it_stopped(clinic: Site, hand: Person) -> None:
    openings = b.openings(clinic, 40)
    phone = PhoneMemory(clinic, hand, limit=10)
    phone.pull_page()
    phone.pull_page()
    known = len(phone.records)
    b.check_in(hand, openings[0])
    take_out_of_schedule(openings[1])
    heard = phone.pull_all(now=b.MONDAY + timedelta(days=3))
    assert phone.resets == 0
    assert len(heard) < 40 - known + 15, "what was loaded is not loaded again"
    assert_holds_the_truth(phone)


def test_a_hold_comes_and_is_gone_when_released(clinic: Site, hand: Person) -> None:
    opening = b.opening(clinic)
    phone = PhoneMemory(clinic, hand)
    phone.pull_all()
    hold = b.check_in(hand, opening, "set", "hold", note="wall line in doubt")
    phone.pull_all()
    assert phone.of("hold")[str(hold.pk)]["reason"] == "wall line in doubt"
    b.check_in(hand, opening, "set", "release", about=hold.pk, at=b.MONDAY + b.MINUTE)
    assert {"type": "hold", "id": str(hold.pk), "data": None} in phone.pull_all()


def test_a_hold_that_was_taken_back_is_gone(clinic: Site, hand: Person) -> None:
    opening = b.opening(clinic)
    hold = b.check_in(hand, opening, "set", "hold", note="wrong number read")
    failed = b.frame_check(hand, opening, readings=b.TWISTED_READINGS)
    phone = PhoneMemory(clinic, hand)
    phone.pull_all()
    assert set(phone.of("hold")) == {str(hold.pk), str(failed.pk)}
    for taken_back in (hold, failed):
        b.check_in(hand, opening, taken_back.stage, "void", about=taken_back.pk, at=b.MONDAY + b.MINUTE)
    phone.pull_all()
    assert phone.of("hold") == {}


def test_an_alert_comes_and_is_gone_when_closed(clinic: Site, hand: Person) -> None:
    opening = b.opening(clinic)
    phone = PhoneMemory(clinic, hand)
    phone.pull_all()
    b.check_in(b.crew(clinic, Trade.DRYWALL), opening, "board", "start")
    phone.pull_all()
    alerts = Alert.objects.filter(opening=opening, closed_at=None)
    assert {data["rule"] for data in phone.of("alert").values()} == {a.rule for a in alerts} != set()
    for alert in alerts:
        close(alert=alert, who=b.supervisor(clinic), why="Board off again.", now=b.MONDAY)
    phone.pull_all()
    assert phone.of("alert") == {}
    later = PhoneMemory(clinic, hand)
    assert "alert" not in kinds(later.pull_all()), "a new phone need not hear what went before it"


def test_what_left_the_schedule_is_gone_from_the_phone(clinic: Site, hand: Person) -> None:
    stays, goes = b.openings(clinic, 2)
    phone = PhoneMemory(clinic, hand)
    phone.pull_all()
    take_out_of_schedule(goes)
    assert {"type": "opening", "id": str(goes.pk), "data": None} in phone.pull_all()
    assert phone.numbers() == [stays.number]
    assert PhoneMemory(clinic, hand).pull_all()[-1]["id"] == str(stays.pk)


def test_a_renamed_floor_is_told_without_starting_over(clinic: Site, hand: Person) -> None:
    b.openings(clinic, 20)
    phone = PhoneMemory(clinic, hand)
    phone.pull_all()
    Floor.objects.filter(site=clinic).update(name="Mezzanine")
    heard = phone.pull_all()
    assert phone.resets == 0
    assert "opening" not in kinds(heard)
    assert_holds_the_truth(phone)


def test_a_new_tolerance_takes_the_place_of_the_old(clinic: Site, hand: Person) -> None:
    phone = PhoneMemory(clinic, hand)
    phone.pull_all()
    tight = Profile.from_dict({"twist": "1/32"})
    ToleranceProfile.objects.create(site=clinic, version=9, data=tight.to_dict(), made_at=b.MONDAY)
    phone.pull_all()
    (profile,) = phone.of("profile").values()
    assert profile["limits"]["twist"]["limit_nm"] == 793_750  # 1/32 in is 0.79375 mm
    assert phone.resets == 0


def test_signers_are_those_who_may_and_who_have_a_code(clinic: Site, hand: Person) -> None:
    inspector, former = b.inspector(clinic), b.inspector(clinic)
    Person.objects.filter(pk__in=[inspector.pk, former.pk, hand.pk]).update(signing_code="hash")
    Membership.objects.filter(person=former).update(ended_at=b.MONDAY)
    phone = PhoneMemory(clinic, hand)
    phone.pull_all()
    told = phone.of("site")[str(clinic.pk)]["signers"]
    assert told == [{"id": str(inspector.pk), "name": inspector.name, "role": "inspector"}]


def changed_role(standing: Membership) -> None:
    standing.role = Role.VIEWER
    standing.save()


def changed_trades(standing: Membership) -> None:
    standing.trades = [Trade.DRYWALL]
    standing.save()


def moved_company(standing: Membership) -> None:
    standing.ended_at = b.MONDAY
    standing.save()
    Membership.objects.create(
        site=standing.site, person=standing.person, company=b.company(), role=standing.role, trades=standing.trades
    )


@pytest.mark.parametrize("change", [changed_role, changed_trades, moved_company])
def test_whoever_became_someone_else_on_the_site_starts_over(clinic: Site, hand: Person, change: Any) -> None:
    b.openings(clinic, 5)
    phone = PhoneMemory(clinic, hand)
    phone.pull_all()
    change(Membership.objects.get(person=hand, ended_at=None))
    phone.pull_all()
    assert phone.resets == 1
    assert_holds_the_truth(phone)
    assert phone.pull_all() == []


def test_a_cursor_too_old_starts_over(clinic: Site, hand: Person) -> None:
    b.openings(clinic, 2)
    phone = PhoneMemory(clinic, hand)
    phone.pull_all()
    phone.pull_all(now=b.MONDAY + timedelta(days=30))
    assert phone.resets == 0, "thirty days away is no reason"
    phone.pull_all(now=b.MONDAY + timedelta(days=31) + LIFE)
    assert phone.resets == 1
    assert_holds_the_truth(phone)


def test_a_cursor_ahead_of_a_restored_server_starts_over(clinic: Site, hand: Person) -> None:
    b.openings(clinic, 5)
    phone = PhoneMemory(clinic, hand)
    phone.pull_all()
    Site.objects.filter(pk=clinic.pk).update(change_counter=2)
    page = phone.pull_page()
    assert page.reset


def test_a_restored_server_that_has_gone_on_past_the_cursor_is_noticed(clinic: Site, hand: Person) -> None:
    first, second = b.openings(clinic, 2)
    backup = clinic.change_counter = Site.objects.get(pk=clinic.pk).change_counter
    b.check_in(hand, first)
    phone = PhoneMemory(clinic, hand)
    phone.pull_all()
    pulled_to = read_cursor(phone.cursor)
    assert pulled_to
    restore(clinic, backup)
    b.check_in(hand, second)
    while Site.objects.get(pk=clinic.pk).change_counter <= pulled_to.position:
        next_numbers(clinic.pk, 1)
    phone.pull_all()
    assert phone.resets == 1
    assert_holds_the_truth(phone)


def restore(site: Site, counter: int) -> None:
    """Put the site back to where it stood at that number, as a backup does: what came later never was."""
    with connection.cursor() as db:
        for table in (
            "inspections_stagestanding",
            "inspections_alert",
            "inspections_progress",
            "openings_dirtyopening",
        ):
            db.execute(f"DELETE FROM {table}")
        db.execute("DELETE FROM inspections_checkin WHERE seq > %s", [counter])
    Site.objects.filter(pk=site.pk).update(change_counter=counter)


@pytest.mark.parametrize("text", ["x", "x" * 5000, "WzEsMl0.abc", "é", "null", "."])
def test_a_cursor_that_is_none_starts_over(clinic: Site, hand: Person, text: str) -> None:
    b.openings(clinic, 2)
    phone = PhoneMemory(clinic, hand, cursor=text)
    phone.pull_all()
    assert phone.resets == 1
    assert_holds_the_truth(phone)


def test_another_sites_cursor_starts_over(clinic: Site, hand: Person) -> None:
    depot = b.site()
    Membership.objects.create(site=depot, person=hand, company=b.company(), role=Role.CREW)
    other = PhoneMemory(depot, hand)
    other.pull_all()
    phone = PhoneMemory(clinic, hand, cursor=other.cursor)
    phone.pull_all()
    assert phone.resets == 1


def test_a_site_one_has_no_role_on_is_not_told_apart_from_none(clinic: Site, hand: Person) -> None:
    with pytest.raises(NotFound):
        PhoneMemory(b.site(), hand).pull_page()
    Membership.objects.filter(person=hand).update(ended_at=b.MONDAY)
    with pytest.raises(NotFound):
        PhoneMemory(clinic, hand).pull_page()


def test_a_phone_pulls_its_own_site_only(clinic: Site, hand: Person) -> None:
    depot = b.site()
    Membership.objects.create(site=depot, person=hand, company=b.company(), role=Role.CREW)
    phone, _ = b.device(clinic, hand)
    with pytest.raises(NotFound):
        PhoneMemory(depot, hand, device=phone).pull_page()


def test_nothing_of_another_site_is_told(clinic: Site, hand: Person) -> None:
    b.opening(clinic, "101")
    elsewhere = b.opening(b.site(), "999")
    b.check_in(b.crew(elsewhere.site), elsewhere, "set", "hold", note="theirs")
    b.check_in(b.crew(elsewhere.site, Trade.DRYWALL), elsewhere, "board", "start")
    phone = PhoneMemory(clinic, hand)
    assert "theirs" not in json.dumps(phone.pull_all())
    assert phone.numbers() == ["101"]
    assert phone.of("alert") == {}


def cost_of_a_pull(phone: PhoneMemory) -> int:
    with CaptureQueriesContext(connection) as queries:
        phone.pull_page()
    return without_savepoints(queries)


def test_a_page_costs_the_same_for_3_openings_and_for_30_and_after_a_long_history() -> None:
    costs = []
    for size, history in ((3, 1), (30, 1), (3, 15)):
        site = b.site()
        hand = b.crew(site, Trade.FRAME_CREW, Trade.DRYWALL)
        openings = b.openings(site, size)
        for n in range(history):
            for opening in openings:
                b.check_in(hand, opening, "receive", "note", note=str(n))
                b.check_in(hand, opening, "set", "hold", note="wait")
                b.check_in(hand, opening, "board", "start")
        phone = PhoneMemory(site, hand)
        first = cost_of_a_pull(phone)
        b.record(hand, *(b.report(o, "receive") for o in openings), of=site)
        assert len(phone.heard) > size
        costs.append((first, cost_of_a_pull(phone), cost_of_a_pull(phone)))
    assert costs[0] == costs[1] == costs[2]
    assert max(costs[0]) <= 14, costs


def test_the_address_answers_a_page(clinic: Site, hand: Person) -> None:
    b.openings(clinic, 3)
    _, token = b.device(clinic, hand)
    api = b.client(token=token)
    answer = api.get(f"/api/v1/sync/pull?site={clinic.pk}")
    page = answer.json()
    assert set(page) == {"cursor", "more", "reset", "changes"}
    assert (page["more"], page["reset"]) == (False, False)
    again = api.get("/api/v1/sync/pull", {"site": str(clinic.pk), "cursor": page["cursor"]}).json()
    assert again["changes"] == []
    assert answer["Cache-Control"] == "no-store"


def test_the_address_packs_what_it_sends(clinic: Site, hand: Person) -> None:
    b.openings(clinic, 20)
    answer = b.client(hand).get(f"/api/v1/sync/pull?site={clinic.pk}", HTTP_ACCEPT_ENCODING="gzip")
    assert answer["Content-Encoding"] == "gzip"
    whole = gzip.decompress(answer.content)
    assert len(json.loads(whole)["changes"]) > 20
    assert len(answer.content) < len(whole) / 4


@pytest.mark.parametrize(
    "query", ["", "site=", "site=clinic", "site={site}&limit=0", "site={site}&limit=many", "site={site}&since=3"]
)
def test_the_address_refuses_in_words_what_it_can_t_read(clinic: Site, hand: Person, query: str) -> None:
    check_problem(b.client(hand).get(f"/api/v1/sync/pull?{query.format(site=clinic.pk)}"), 422, "bad-input")


def test_the_address_knows_nobody_without_a_token(clinic: Site) -> None:
    check_problem(b.client().get(f"/api/v1/sync/pull?site={clinic.pk}"), 401)
    check_problem(b.client(b.person()).get(f"/api/v1/sync/pull?site={clinic.pk}"), 404, "not-found")


def test_more_than_the_most_is_not_given(clinic: Site, hand: Person) -> None:
    template = b.opening(clinic)
    facts = {f.attname: getattr(template, f.attname) for f in Opening._meta.concrete_fields}
    rows = [Opening(**facts | {"number": f"X{n}", "seq": n + 2}) for n in range(MOST_CHANGES)]
    for row in rows:
        row.pk = new_id()
    Opening.objects.bulk_create(rows)
    next_numbers(clinic.pk, MOST_CHANGES)
    page = b.client(hand).get(f"/api/v1/sync/pull?site={clinic.pk}&limit=999999").json()
    assert len(page["changes"]) == MOST_CHANGES
    assert page["more"]
