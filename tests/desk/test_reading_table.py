"""The reading table: what is typed is judged, drawn and advised on at once, nothing typed is lost, nothing is kept."""

import re
from html import unescape
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from inspections.models import CheckIn, ToleranceProfile
from inspections.services.profiles import set_profile
from inspections.trueness.measures import FLOOR_RISE, MEASURES
from openings.models import Site
from sitetrack.desk.reading_table_form import FIRST_READINGS, OTHER_READINGS
from sitetrack.kit.lengths import parse_length
from tests import builders as make
from tests.desk.looking import signed_in, words

pytestmark = pytest.mark.django_db

SIZE = {"width": "3'-0\"", "height": "7'-0\""}
# The top of the strike jamb 3/16 in toward the pull side, and so the frame as much out of twist.
OUT = make.TWISTED_READINGS | {"strike_plumb_face": "3/16"}


def asked(client: Client, address: str = "/readings", readings: dict[str, str] | None = None, **more: str) -> Any:
    typed = {f"reading_{name}": text for name, text in (readings or {}).items()}
    return client.get(address, {**SIZE, **typed, **more})


def errors_of(answer: Any) -> dict[str, str]:
    """What stands beside each field, by the field's name."""
    markup = answer.content.decode()
    found = re.findall(r'<span class="error" id="id_(\w+)_error">(.*?)</span>', markup)
    return {name: unescape(sentence) for name, sentence in found}


def values_of(answer: Any) -> dict[str, str]:
    markup = answer.content.decode()
    inputs = re.findall(r"<input[^>]*>", markup)
    pairs = [(re.search(r'name="(\w+)"', tag), re.search(r'value="([^"]*)"', tag)) for tag in inputs]
    return {name[1]: unescape(value[1]) for name, value in pairs if name and value}


def test_everyone_signed_in_may_try_readings_and_nobody_else(job: Site) -> None:
    assert asked(signed_in(make.person()), readings=OUT).status_code == 200
    assert Client().get("/readings").status_code == 302


def test_a_frame_that_is_out_is_judged_drawn_fitted_and_advised_on(desk: Client) -> None:
    page = words(asked(desk, readings=OUT))
    assert "Fails" in page
    assert "Move the top of the strike jamb 1/8&quot; toward the push side" in page
    assert "The door binds." in page
    assert "OUT OF TRUE" in page
    assert "Brace it before anyone lets go" in page
    assert "Local codes, the listing and licensed people decide." in page
    assert "public-agency project specification 08 11 13" in page


def test_readings_foretold_after_the_moves_pass_when_they_are_typed(desk: Client) -> None:
    page = asked(desk, readings=OUT).content.decode()
    then = dict(
        re.findall(
            r'<tr><th scope="row">([^<]+)</th><td class="count">[^<]+</td><td class="count">([^<]+)</td></tr>', page
        )
    )
    by_words = {MEASURES[name].en.partition(":")[0].capitalize(): name for name in FIRST_READINGS}
    moved = {by_words[label]: unescape(text) for label, text in then.items() if label in by_words}
    assert set(moved) == {"strike_plumb_face", "twist"}
    assert "Passes" in words(asked(desk, readings=OUT | moved))


def test_a_true_frame_passes_and_has_nothing_to_put_right(desk: Client) -> None:
    page = words(asked(desk, readings=make.TRUE_READINGS))
    assert "Passes" in page
    assert "The door swings free." in page
    assert "To put it right" not in page


def test_a_reading_that_is_missing_is_told_and_never_a_pass(desk: Client) -> None:
    page = words(asked(desk, readings={"twist": "0"}))
    assert "Incomplete" in page
    assert "Not taken: squareness, alignment, hinge jamb plumb in the wall" in page


def test_readings_that_contradict_each_other_move_nothing(desk: Client) -> None:
    page = words(asked(desk, readings=make.TRUE_READINGS | {"width_floor": "35"}))
    assert re.search(r"These readings disagree: .* was read as .*Measure again, this one first", page)
    assert "Move nothing yet" in page


@pytest.mark.parametrize(
    "text",
    ["3'-0 13", "1/0", "36 1/7", "nan", "∞", "twelve", "36,5", "917mm 3in", "-", "1e3", "=1+1", "<b>36</b>", "9" * 41],
)
def test_what_cannot_be_read_is_named_beside_its_field_and_kept(desk: Client, text: str) -> None:
    answer = asked(desk, readings=OUT | {"width_head": text})
    assert answer.status_code == 422
    assert set(errors_of(answer)) == {"reading_width_head"}
    assert values_of(answer)["reading_width_head"] == text
    assert values_of(answer)["reading_twist"] == "3/16"
    assert "Fails" not in words(answer)


@pytest.mark.parametrize("width", ["0", "-3'-0\"", "7 mm", "", "90 ft"])
def test_a_size_no_door_has_is_refused(desk: Client, width: str) -> None:
    answer = asked(desk, readings=make.TRUE_READINGS, width=width)
    assert answer.status_code == 422
    assert set(errors_of(answer)) == {"width"}


def test_every_field_that_is_wrong_hears_of_it_at_once(desk: Client) -> None:
    answer = asked(desk, readings={"twist": "900", "width_mid": "x", FLOOR_RISE: "0: 1; 200: 1"}, height="seven")
    assert set(errors_of(answer)) == {"height", "reading_twist", "reading_width_mid", "reading_floor_rise"}


def test_ten_megabytes_of_digits_are_refused_in_words(desk: Client) -> None:
    answer = desk.get("/readings", {**SIZE, "reading_twist": "7" * 10_000_000})
    assert answer.status_code == 422
    assert set(errors_of(answer)) == {"reading_twist"}


def test_refusals_speak_the_readers_language(desk: Client) -> None:
    answer = desk.get("/readings", {**SIZE, "reading_twist": "doce", "lang": "es"})
    assert "no se entiende como medida" in errors_of(answer)["reading_twist"]


def test_every_measure_can_be_typed(desk: Client) -> None:
    assert set(FIRST_READINGS) | set(OTHER_READINGS) == set(MEASURES)
    page = desk.get("/readings").content.decode()
    for name in (*MEASURES, FLOOR_RISE):
        assert f'name="reading_{name}"' in page


def test_the_floor_under_the_swing_counts(desk: Client) -> None:
    page = words(asked(desk, readings=make.TRUE_READINGS | {FLOOR_RISE: "0: 0; 45: 0; 90: 7/8"}))
    assert "The door drags." in page


def test_millimetres_where_one_asks_for_them(desk: Client) -> None:
    readings = dict.fromkeys(FIRST_READINGS, "0") | dict.fromkeys(("width_head", "width_mid", "width_floor"), "914.4")
    page = words(asked(desk, readings=readings, width="914.4", height="2133.6", units="metric"))
    assert "Passes 914.4 mm × 2133.6 mm" in page


def test_the_answer_alone_is_what_the_script_puts_in(desk: Client) -> None:
    whole, part = (asked(desk, readings=OUT, **more) for more in ({}, {"part": "answer"}))
    assert "<html" not in part.content.decode()
    assert part.content.decode().strip() in whole.content.decode()


def test_the_answer_alone_names_what_cannot_be_read(desk: Client) -> None:
    part = asked(desk, readings={"twist": "x"}, part="answer")
    assert part.status_code == 200
    assert 'data-field="id_reading_twist"' in part.content.decode()


def test_an_opening_of_the_site_comes_with_its_size(job: Site, desk: Client) -> None:
    opening = make.opening(job, width=parse_length("915 mm"), height=parse_length("6'-8\""), covering_thickness=None)
    filled = values_of(desk.get(f"/s/{job.code}/openings/{opening.number}/readings"))
    assert (filled["width"], filled["height"]) == ("915 mm", "6'-8\"")


def test_an_opening_without_a_size_asks_for_it(job: Site, desk: Client) -> None:
    opening = make.opening(job, width=None)
    answer = desk.get(f"/s/{job.code}/openings/{opening.number}/readings")
    assert set(errors_of(answer)) == {"width", "height"}


def test_a_sites_own_tolerances_judge_and_the_version_is_told(job: Site, desk: Client) -> None:
    set_profile(site=job, changes={"plumb": "1/4", "twist": "1/4"}, who=make.supervisor(job), now=make.MONDAY)
    page = words(asked(desk, f"/s/{job.code}/readings", readings=OUT))
    assert "Passes" in page
    assert "Judged by version 2 of this site" in page
    assert "Fails" in words(asked(desk, readings=OUT))


def test_nothing_typed_is_recorded(job: Site, desk: Client) -> None:
    opening = make.opening(job)
    asked(desk, f"/s/{job.code}/openings/{opening.number}/readings", readings=OUT)
    assert not CheckIn.objects.exists()
    assert not ToleranceProfile.objects.exists()


def test_an_opening_of_another_site_is_not_found(job: Site) -> None:
    opening = make.opening(job)
    stranger = signed_in(make.supervisor(make.site("depot")))
    for address in (f"/s/{job.code}/readings", f"/s/{job.code}/openings/{opening.number}/readings"):
        assert stranger.get(address).status_code == 404


def test_the_stateless_table_asks_the_data_base_for_the_session_and_nothing_else(desk: Client) -> None:
    asked(desk, readings=OUT)
    with CaptureQueriesContext(
        connection,
    ) as queries:
        asked(desk, readings=OUT)
    assert len(queries) == 3  # the session, the person, and whether their sites ask for a one-time code
