"""The schedule by hand: an opening corrected, many at once, added, taken off and put back; on record and undone."""

import re
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import translation

from openings.models import Opening, ScheduleChange, Site
from sitetrack.access.roles import Role
from sitetrack.kit.lengths import parse_length
from tests import builders as make
from tests.desk.looking import signed_in, words

pytestmark = pytest.mark.django_db


def form_of(desk: Client, address: str) -> dict[str, str]:
    """What a browser would send of the page's correction form, untouched."""
    form = desk.get(address).context["form"]
    sent = {field.html_name: str(field.value() if field.value() is not None else "") for field in form}
    return sent | {field.html_initial_name: sent[field.html_name] for field in form.typed_fields()}


def undo(desk: Client, page: Any) -> Any:
    """Press the Undo of the message on the page."""
    markup = page.content.decode()
    (address,) = re.findall(r'action="(/s/clinic/schedule/by-hand/undo)"', markup)
    (at,) = re.findall(r'name="at" value="([^"]+)"', markup)
    return desk.post(address, {"at": at}, follow=True)


def correct(desk: Client, opening: Opening, **typed: str) -> Any:
    address = f"/s/clinic/openings/{opening.number}/edit"
    return desk.post(address, form_of(desk, address) | typed, follow=True)


def test_only_what_was_typed_is_changed_and_recorded(job: Site, desk: Client) -> None:
    # 915 mm is no whole 64th of an inch, so writing it back from the page would move it.
    opening = make.opening(job, "101", hand="RH", width=parse_length("915 mm"))
    page = correct(desk, opening, hand="LHR", rating="90 MIN")
    assert "Corrected, and on record" in words(page)
    stored = Opening.objects.get()
    assert (stored.hand, stored.rating_text, stored.rating_minutes, stored.width.mm) == ("LHR", "90 MIN", 90, 915)
    recorded = set(ScheduleChange.objects.values_list("field", "before", "after", "by", "revision"))
    who = make.supervisor(job).pk
    assert recorded == {
        ("hand", "RH", "LHR", who, None), ("rating_text", "", "90 MIN", who, None),
        ("rating_minutes", "0", "90", who, None),
    }  # fmt: skip
    assert "Hand: RH → LHR" in words(desk.get("/s/clinic/openings/101"))
    assert "LHR" in words(desk.get("/s/clinic/schedule/by-hand"))


def test_undo_puts_every_fact_back_exactly(job: Site, desk: Client) -> None:
    opening = make.opening(job, "101", hand="RH", width=parse_length("915 mm"))
    before = Opening.objects.values().get()
    page = correct(desk, opening, hand="", width="3'-4\"", floor="Level 9", wall="M8", electrified="yes", number="109")
    assert Opening.objects.get().width == parse_length("40")
    undone = undo(desk, page)
    assert "Put back as it was" in words(undone)
    after = Opening.objects.values().get()
    moving = ("version", "changed_at", "seq")
    assert {k: v for k, v in after.items() if k not in moving} == {k: v for k, v in before.items() if k not in moving}
    assert "Nothing to undo" not in words(undone)


def test_undo_after_another_change_is_refused(job: Site, desk: Client) -> None:
    opening = make.opening(job, "101", hand="RH")
    page = correct(desk, opening, hand="LH")
    other = signed_in(make.member(job, Role.SUPERVISOR))
    correct(other, opening, mark="F9")
    assert "101 changed again since" in words(undo(desk, page))
    assert Opening.objects.get().hand == "LH"


def test_nobody_undoes_another_ones_change(job: Site, desk: Client) -> None:
    page = correct(desk, make.opening(job, "101", hand="RH"), hand="LH")
    other = signed_in(make.member(job, Role.SUPERVISOR))
    assert "Nothing to undo" in words(undo(other, page))
    assert Opening.objects.get().hand == "LH"


def test_somebody_elses_change_meanwhile_shows_both_and_loses_neither(job: Site, desk: Client) -> None:
    opening = make.opening(job, "101", hand="RH", mark="F1")
    address = "/s/clinic/openings/101/edit"
    read = form_of(desk, address)
    correct(signed_in(make.member(job, Role.SUPERVISOR)), opening, hand="LH", mark="F7")
    page = desk.post(address, read | {"hand": "LHR", "remarks": "seen on site"})
    assert page.status_code == 409
    assert "Hand LH LHR" in words(page)
    assert Opening.objects.get().hand == "LH"
    form = page.context["form"]
    again = {field.html_name: str(field.value()) for field in form}
    again |= {f.html_initial_name: form.data[f.html_initial_name] for f in form.typed_fields()}
    desk.post(address, again)
    stored = Opening.objects.get()
    assert (stored.hand, stored.mark, stored.remarks) == ("LHR", "F7", "seen on site")


BAD = [
    ("number", "", "its number"),
    ("number", "   ", "its number"),
    ("number", "9" * 60, "40"),
    ("number", "102", "another opening"),
    ("number", "102 ", "another opening"),
    ("floor", "", "stands on a floor"),
    ("width", "3'-13\"", "less than 12 inches"),
    ("width", "36 17/16", "less than one inch"),
    ("width", "36 1/3", "halves"),
    ("width", "wide", "3'-0"),
    ("width", "-36", "from 1'-0"),
    ("width", "0", "from 1'-0"),
    ("width", "5000 mm x", "3'-0"),
    ("height", "1", "from 1'-0"),
    ("height", "99'", "from 1'-0"),
    ("hand", "LF", "LF"),
    ("leaves", "3", "3"),
    ("construction", "glued", "glued"),
    ("electrified", "perhaps", "perhaps"),
    ("jamb_depth", "0", "more than 0"),
    ("covering_thickness", "-1", "up to"),
    ("mark", "F" * 70, "60"),
    ("remarks", "r" * 4100, "4000"),
    ("room_from", "x\x00y", "ull"),
]


@pytest.mark.parametrize(("field", "typed", "told"), BAD)
def test_what_cannot_be_is_refused_beside_its_field_and_nothing_typed_is_lost(
    job: Site, desk: Client, field: str, typed: str, told: str
) -> None:
    opening = make.opening(job, "101")
    make.opening(job, "102")
    before = Opening.objects.values().get(number="101")
    page = correct(desk, opening, **{field: typed, "room_to": "kept text"})
    assert page.status_code == 422
    errors = page.context["form"].errors
    assert list(errors) == [field]
    assert told in str(errors[field][0])
    assert "kept text" in page.content.decode()
    assert Opening.objects.values().get(pk=opening.pk) == before


@pytest.mark.parametrize(("field", "typed", "told"), BAD)
def test_the_same_is_told_in_spanish(job: Site, desk: Client, field: str, typed: str, told: str) -> None:
    opening = make.opening(job, "101")
    make.opening(job, "102")
    english = str(correct(desk, opening, **{field: typed}).context["form"].errors[field][0])
    desk.get("/s/clinic/schedule?lang=es")
    page = correct(desk, opening, **{field: typed})
    with translation.override("es"):  # what Django itself says is only put into words when it is read
        spanish = str(page.context["form"].errors[field][0])
    assert spanish != english
    assert not re.search(r"\b(the|such|expected|than|must|from|least|characters)\b", spanish), spanish


def chosen(*openings: Opening) -> list[str]:
    return [f"{opening.pk}:{opening.version}" for opening in Opening.objects.filter(pk__in=[o.pk for o in openings])]


def test_the_same_is_set_of_many_and_undone_of_all(job: Site, desk: Client) -> None:
    made = [make.opening(job, str(n), hand="RH", mark=f"F{n}") for n in range(101, 105)]
    address = "/s/clinic/schedule/openings"
    page = desk.post(address, {"chosen": chosen(*made[:3]), "fact": "mark", "value": "F9", "do": "set"}, follow=True)
    assert "set of 3 openings" in words(page)
    assert list(Opening.objects.order_by("number").values_list("mark", flat=True)) == ["F9", "F9", "F9", "F104"]
    undo(desk, page)
    assert list(Opening.objects.order_by("number").values_list("mark", flat=True)) == ["F101", "F102", "F103", "F104"]


def test_many_are_refused_in_words_and_stay_chosen(job: Site, desk: Client) -> None:
    opening = make.opening(job, "101", hand="RH")
    address = "/s/clinic/schedule/openings"
    for sent, told in [
        ({"fact": "hand", "value": "LF"}, "LH, RH, LHR or RHR"),
        ({"fact": "hand", "value": ""}, "tick that it is unknown"),
        ({"fact": "number", "value": "7"}, "Choose which fact"),
        ({"fact": "", "value": "7"}, "Choose which fact"),
    ]:
        page = desk.post(address, {"chosen": chosen(opening), "do": "set", **sent})
        assert page.status_code == 422
        assert told in words(page)
        assert re.search(r'value="[^"]+" checked', page.content.decode())
    assert "0 openings were picked" in words(desk.post(address, {"fact": "hand", "value": "LH", "do": "set"}))
    stale = f"{opening.pk}:7"
    page = desk.post(address, {"chosen": stale, "fact": "hand", "value": "LH", "do": "set"})
    assert page.status_code == 409
    assert "101 RH LH" in words(page)
    assert Opening.objects.get().hand == "RH"


def test_unknown_is_set_of_many_by_ticking_it(job: Site, desk: Client) -> None:
    opening = make.opening(job, "101", hand="RH")
    sent = {"chosen": chosen(opening), "fact": "hand", "value": "", "unknown": "1", "do": "set"}
    desk.post("/s/clinic/schedule/openings", sent)
    assert Opening.objects.get().hand == ""


def test_an_opening_is_taken_off_and_put_back(job: Site, desk: Client) -> None:
    opening = make.opening(job, "101")
    make.check_in(make.crew(job), opening)
    address = "/s/clinic/schedule/openings"
    page = desk.post(address, {"chosen": chosen(opening), "do": "off"}, follow=True)
    assert not Opening.objects.get().in_schedule
    assert "101" not in words(page).partition("1 opening taken off")[2].partition("No opening")[0]
    assert "no longer lists" in words(desk.get("/s/clinic/openings/101"))
    assert "101" in words(desk.get(f"{address}?listed=no"))
    undo(desk, desk.post(address, {"chosen": chosen(opening), "do": "back"}, follow=True))
    assert not Opening.objects.get().in_schedule
    desk.post("/s/clinic/openings/101/listed", {"listed": "1", "version": str(Opening.objects.get().version)})
    assert Opening.objects.get().in_schedule
    kinds = list(ScheduleChange.objects.order_by("id").values_list("kind", flat=True))
    assert kinds == ["missing", "back", "missing", "back"]


def test_an_opening_is_added_and_its_undo_takes_it_off(job: Site, desk: Client) -> None:
    make.opening(job, "101", walk=4)
    assert desk.post("/s/clinic/schedule/add", {"floor": "L1"}).status_code == 422
    page = desk.post("/s/clinic/schedule/add", {"number": "101B", "floor": "L1", "width": "3'-0\""}, follow=True)
    added = Opening.objects.get(number="101B")
    assert "Opening 101B added." in words(page)
    assert (added.walk, added.width, added.hand, added.plan.code) == (5, parse_length("36"), "", "steel_stud")
    undo(desk, page)
    added.refresh_from_db()
    assert not added.in_schedule


@pytest.mark.parametrize("role", ["crew", "inspector", "viewer"])
def test_others_look_and_change_nothing(job: Site, role: str) -> None:
    opening = make.opening(job, "101", hand="RH")
    other = signed_in(make.member(job, role))
    assert 'name="chosen"' not in other.get("/s/clinic/schedule/openings").content.decode()
    assert other.get("/s/clinic/openings/101/edit").status_code == 403
    assert other.get("/s/clinic/schedule/add").status_code == 403
    other.post("/s/clinic/schedule/openings", {"chosen": chosen(opening), "fact": "hand", "value": "LH", "do": "set"})
    other.post("/s/clinic/schedule/add", {"number": "7", "floor": "L1"})
    other.post("/s/clinic/openings/101/listed", {"listed": "0", "version": "1"})
    assert Opening.objects.values_list("hand", "in_schedule").get() == ("RH", True)
    assert other.get("/s/clinic/schedule/by-hand").status_code == 200


def test_a_stranger_finds_none_of_it_and_another_sites_opening_is_not_reached(job: Site, desk: Client) -> None:
    make.opening(job, "101")
    foreign = make.opening(make.site("depot"), "900", hand="RH")
    stranger = signed_in(make.person())
    for path in ("schedule/openings", "schedule/add", "schedule/by-hand", "schedule/compare", "openings/101/edit"):
        assert stranger.get(f"/s/clinic/{path}").status_code == 404
    sent = {"chosen": chosen(foreign), "fact": "hand", "value": "LH", "do": "set"}
    assert "not on this site" in words(desk.post("/s/clinic/schedule/openings", sent))
    assert Opening.objects.get(pk=foreign.pk).hand == "RH"


def test_the_pages_ask_as_much_for_many_as_for_few(job: Site, desk: Client) -> None:
    def asked() -> list[int]:
        counts = []
        for page in ("schedule/openings", "schedule/by-hand", "openings/101/edit"):
            desk.get(f"/s/clinic/{page}")
            with CaptureQueriesContext(connection) as queries:
                assert desk.get(f"/s/clinic/{page}").status_code == 200
            counts.append(len(queries))
        return counts

    def changed(*numbers: int) -> None:
        made = [make.opening(job, str(n)) for n in numbers]
        sent = {"chosen": chosen(*made), "fact": "mark", "value": "F9", "do": "set"}
        desk.post("/s/clinic/schedule/openings", sent)

    changed(101, 102, 103)
    few = asked()
    changed(*range(200, 227))
    assert asked() == few
