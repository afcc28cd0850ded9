"""What is handed on. Outside checks: icalendar parses the feed, openpyxl opens the sheet, ifcopenshell the model."""

import csv
import io
from datetime import UTC, date, datetime, timedelta

import icalendar
import ifcopenshell
import ifcopenshell.api.pset
import ifcopenshell.api.root
import openpyxl
import pytest
from django.core.management import CommandError, call_command
from django.test import Client
from django.urls import reverse
from hypothesis import given
from hypothesis import strategies as st
from ifcopenshell.util.element import get_psets

from inspections.services.work_out import work_out
from openings.intake.cobie import NEEDED_SHEETS
from openings.models import Opening
from sitetrack.access.models import Membership
from sitetrack.reports.handover.calendar_days import days_of
from sitetrack.reports.handover.calendar_file import LONGEST_LINE, Day, calendar_lines
from sitetrack.reports.handover.component_rows import component_rows, write_components
from sitetrack.reports.handover.model_status import SET_NAME, properties_of, write_model_status
from sitetrack.reports.models import Forecast
from tests import builders as make
from tests.reports.story import AFTER, HOSTILE, job

NOW = datetime(2026, 3, 9, 12, tzinfo=UTC)
ANY_TEXT = st.text(st.characters(exclude_categories=["Cs", "Cc"], include_characters="\n"))


@given(ANY_TEXT, ANY_TEXT, st.dates(date(1970, 1, 1), date(2999, 12, 30)))
def test_any_words_come_through_a_calendar_program(title, notes, on):
    stream = b"".join(calendar_lines("Site", [Day("a@b", on, title, notes, "https://x.example/1")], now=NOW))
    (event,) = icalendar.Calendar.from_ical(stream).walk("VEVENT")
    assert str(event["SUMMARY"]) == title
    assert str(event["DESCRIPTION"]) == notes
    assert event.decoded("DTSTART") == on
    assert event.decoded("DTEND") == on + timedelta(days=1)
    assert event.decoded("DTSTAMP") == NOW
    # RFC 5545, 3.1: lines end in CRLF and are no longer than 75 octets without it.
    assert stream.endswith(b"\r\n")
    assert all(len(line) <= LONGEST_LINE for line in stream.split(b"\r\n"))
    assert stream.count(b"\n") == stream.count(b"\r\n")


def events(response):
    calendar = icalendar.Calendar.from_ical(response.content)
    return {str(event["SUMMARY"]): event.decoded("DTSTART") for event in calendar.walk("VEVENT")}


def key_of(who, site):
    client = Client()
    client.force_login(who)
    page = client.post(reverse("reports:calendar-key", args=[site.code])).content.decode()
    return page.split("/calendar/")[1].split(".ics")[0]


def feed(key):
    return Client().get(reverse("reports:calendar", args=[key]))


@pytest.mark.django_db
def test_a_calendar_has_holds_and_floors():
    story = job(hold_limit_days=3)
    found = events(feed(key_of(story.inspector, story.site)))
    assert found["Hold to be released: opening 201"] == make.MONDAY.date() + timedelta(days=3)
    assert found["Checks due: L1, A"] == date(2026, 4, 1)
    assert not any(title.startswith("Checks due: L2") for title in found)  # a floor without a date


def _end(low, median, high):
    return {"done": False, "range": {"low": low, "median": median, "high": high, "chance": None}, "untold": []}


@pytest.mark.django_db
def test_the_forecast_told_is_the_one_kept_until_it_is_stale_and_never_to_a_crew():
    story = job()
    told = {
        "site": _end("2026-04-01", "2026-05-04", None),
        "floors": [
            {"floor": str(story.low.pk), "proved": _end("2026-03-20", "2026-03-27", "2026-04-09")},
            {"floor": str(story.high.pk), "proved": {"done": False, "range": None, "untold": ["painter"]}},
        ],
    }
    Forecast.objects.create(site=story.site, as_of=AFTER.date(), made_at=AFTER, digest="ab" * 32, told=told)

    def forecast_days(who, at=AFTER):
        return {day.title: day for day in days_of(story.site, who, at) if day.key.startswith("forecast")}

    found = forecast_days(story.inspector)
    assert {title: day.on for title, day in found.items()} == {
        "Forecast: all openings finished": date(2026, 5, 4),
        "Forecast: every frame proved, L1, A": date(2026, 3, 27),
    }
    assert "between 2026-04-01 and beyond three years" in found["Forecast: all openings finished"].notes
    assert forecast_days(story.crew) == {}
    assert forecast_days(story.inspector, AFTER + timedelta(days=20)) == {}


@pytest.mark.django_db
def test_a_new_address_closes_the_old_one_and_leaving_the_site_closes_both():
    story = job()
    old = key_of(story.crew, story.site)
    assert feed(old).status_code == 200
    new = key_of(story.crew, story.site)
    assert (feed(old).status_code, feed(new).status_code) == (404, 200)
    Membership.objects.filter(person=story.crew).update(ended_at=AFTER)
    assert feed(new).status_code == 404
    assert feed("guessed").status_code == 404


@pytest.mark.django_db
def test_a_stranger_makes_no_address_and_a_crew_hands_over_no_components():
    story = job()
    client = Client()
    client.force_login(make.person())
    assert client.post(reverse("reports:calendar-key", args=[story.site.code])).status_code == 404
    client.force_login(story.crew)
    assert client.get(reverse("reports:components", args=[story.site.code])).status_code == 404
    client.force_login(story.inspector)
    answer = client.get(reverse("reports:components", args=[story.site.code]))
    assert openpyxl.load_workbook(io.BytesIO(b"".join(answer))).sheetnames == ["Component"]


@pytest.mark.django_db
def test_components_carry_the_day_their_frame_was_set(tmp_path):
    story = job()
    Opening.objects.filter(pk=story.done.pk).update(mark=HOSTILE)
    write_components(story.site, tmp_path / "c.xlsx", now=AFTER)
    book = openpyxl.load_workbook(tmp_path / "c.xlsx")
    assert book.sheetnames == [NEEDED_SHEETS[0]]
    head, *rows = book["Component"].iter_rows()
    found = {r[0].value: dict(zip([c.value for c in head], r, strict=True)) for r in rows}
    assert sorted(found) == ["101", "102", "201", "202"]
    on = date.fromisoformat(found["102"]["InstallationDate"].value)
    assert make.MONDAY.date() <= on <= make.MONDAY.date() + timedelta(days=1)
    assert found["201"]["InstallationDate"].value == "n/a"
    assert (found["101"]["TypeName"].value, found["101"]["TypeName"].data_type) == (HOSTILE, "s")
    assert all(cell.value for row in found.values() for cell in row.values())


def model_with(path, *names):
    """A model with a door for each name; returns their keys."""
    model = ifcopenshell.file(schema="IFC4")
    ifcopenshell.api.root.create_entity(model, ifc_class="IfcProject", name="job")
    doors = [ifcopenshell.api.root.create_entity(model, ifc_class="IfcDoor", name=name) for name in names]
    own = ifcopenshell.api.pset.add_pset(model, product=doors[0], name="Pset_DoorCommon")
    ifcopenshell.api.pset.edit_pset(model, pset=own, properties={"FireRating": "90"})
    model.write(str(path))
    return [door.GlobalId for door in doors]


@pytest.mark.django_db
def test_a_model_opened_again_tells_each_doors_status_and_keeps_what_it_told(tmp_path):
    story = job()
    first, second, _ = model_with(tmp_path / "in.ifc", "101", "102", "unknown")
    for opening, key in ((story.done, first), (story.read, second), (story.held, "gone")):
        Opening.objects.filter(pk=opening.pk).update(source_key=key)
    written = write_model_status(story.site, tmp_path / "in.ifc", tmp_path / "out.ifc")
    assert (written.doors, written.not_found) == (2, ("201",))
    model = ifcopenshell.open(str(tmp_path / "out.ifc"))
    doors = {door.Name: get_psets(door) for door in model.by_type("IfcDoor")}
    assert doors["102"][SET_NAME]["CheckedTrue"] is True
    assert doors["101"][SET_NAME]["CheckedTrue"] is False
    assert doors["101"][SET_NAME]["OpeningNumber"] == "101"
    assert doors["101"]["Pset_DoorCommon"]["FireRating"] == "90"
    assert SET_NAME not in doors["unknown"]


@pytest.mark.django_db
def test_a_status_written_before_is_replaced_and_not_doubled(tmp_path):
    story = job()
    (key,) = model_with(tmp_path / "in.ifc", "201")
    Opening.objects.filter(pk=story.untouched.pk).update(source_key=key)
    work_out(opening_ids=[story.untouched.pk], now=AFTER)
    write_model_status(story.site, tmp_path / "in.ifc", tmp_path / "once.ifc")
    make.work_up_to(story.untouched, "trueness", at=AFTER)
    write_model_status(story.site, tmp_path / "once.ifc", tmp_path / "twice.ifc")
    model = ifcopenshell.open(str(tmp_path / "twice.ifc"))
    assert len([p for p in model.by_type("IfcPropertySet") if p.Name == SET_NAME]) == 1
    assert get_psets(model.by_type("IfcDoor")[0])[SET_NAME]["CheckedTrue"] is True


@pytest.mark.django_db
@pytest.mark.parametrize(("model", "out", "words"), [
    ("none.ifc", "out.ifc", "there is no file"),
    ("in.ifc", "in.ifc", "never overwritten"),
    ("not.ifc", "out.ifc", "can't be read"),
])  # fmt: skip
def test_what_cannot_be_written_is_refused_in_words(tmp_path, model, out, words):
    job()
    model_with(tmp_path / "in.ifc", "101")
    (tmp_path / "not.ifc").write_text("no model")
    before = (tmp_path / "in.ifc").read_bytes()
    with pytest.raises(CommandError, match=words):
        call_command("write_model_status", site="clinic", model=tmp_path / model, out=tmp_path / out)
    assert (tmp_path / "in.ifc").read_bytes() == before
    assert not (tmp_path / "out.ifc").exists()


@pytest.mark.django_db
def test_a_plan_that_calls_its_stages_otherwise_hands_over_the_same(tmp_path):
    site = make.site("clinic")
    make.rename_stages(site)
    floor = make.floor(site, "L1", due_on=date(2026, 4, 1))
    true, bare = make.opening(site, "101", on=floor), make.opening(site, "102", on=floor)
    make.work_up_to(true, "our_trueness")
    for opening in (true, bare):
        work_out(opening_ids=[opening.pk], now=AFTER)
    rows = {row["Name"]: row["InstallationDate"] for row in component_rows(site, AFTER)}
    assert (rows["101"], rows["102"]) == (make.MONDAY.date().isoformat(), "n/a")
    told = properties_of(true.progress, site)
    assert (told["CheckedTrue"], told["FrameSetOn"]) == (True, rows["101"])
    (due,) = [day for day in days_of(site, make.inspector(site), AFTER) if day.key.startswith("floor")]
    assert due.notes == "2 openings not proved yet"  # the second check of the first is still to come


@pytest.mark.django_db
def test_components_as_csv_say_the_same_as_the_workbook_and_run_nothing(tmp_path):
    story = job()
    Opening.objects.filter(pk=story.done.pk).update(mark=HOSTILE)
    client = Client()
    client.force_login(story.inspector)
    text = b"".join(client.get(reverse("reports:components-csv", args=[story.site.code]))).decode("utf-8-sig")
    rows = list(csv.DictReader(io.StringIO(text, newline="")))
    assert next(row["TypeName"] for row in rows if row["Name"] == "101") == f"'{HOSTILE}"
    told = [{name: value.removeprefix("'") for name, value in row.items()} for row in rows]
    now = datetime.fromisoformat(rows[0]["CreatedOn"]).replace(tzinfo=story.site.zone)
    assert told == list(component_rows(story.site, now))
    client.force_login(story.crew)
    assert client.get(reverse("reports:components-csv", args=[story.site.code])).status_code == 404
