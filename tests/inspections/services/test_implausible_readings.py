"""Patterns no honest tape gives are asked about once, shown with their figures, and left to a person to answer."""

from datetime import datetime, timedelta
from random import Random

import pytest

from inspections.models import Alert, CheckIn
from inspections.services.alerts import close
from inspections.services.implausible_readings import RECENT, ask_about_readings
from inspections.tasks import raise_alerts
from inspections.trueness.implausible import LoggedCheck, questions
from inspections.trueness.opening import NominalOpening
from inspections.trueness.readings import read_readings
from openings.models import Opening, Site
from sitetrack.access.models import Device, Person
from sitetrack.demo.load import load
from sitetrack.demo.measuring import read, set_frame
from sitetrack.demo.phones import BY_PHONE
from sitetrack.demo.simulate import simulate
from sitetrack.kit.clock import now as read_clock
from sitetrack.kit.clock import to_ms
from sitetrack.kit.lengths import INCH
from tests import builders as make
from tests.desk.looking import signed_in, words

pytestmark = pytest.mark.django_db

OPENING = NominalOpening(INCH * 36, INCH * 84)
RULE = "readings-implausible"
PACE = timedelta(minutes=12)


@pytest.fixture
def job() -> Site:
    return make.site()


@pytest.fixture
def hand(job: Site) -> Person:
    return make.crew(job)


def honest(seed: int) -> dict[str, str]:
    """What a hand reads off a frame that stands a little off, different for every seed."""
    rng = Random(seed)
    return read(set_frame(rng), OPENING, rng)


def log(
    hand: Person,
    job: Site,
    readings: list[dict[str, str]],
    *,
    pace: timedelta = PACE,
    phone: Device | None = None,
    at: datetime = make.MONDAY,
) -> list[Opening]:
    """One opening after the other, each read once."""
    phone = phone or make.device(job, hand)[0]
    openings = [make.opening(job) for _ in readings]
    for number, (opening, texts) in enumerate(zip(openings, readings, strict=True)):
        when = at + pace * number
        reading = make.report(opening, "trueness", "finish", at=when, readings=texts, answers=make.TRUENESS_ANSWERS)
        make.record(hand, reading, of=job, phone=phone, now=when)
    return openings


def asked(job: Site, *, after: timedelta = make.DAY) -> list[Alert]:
    ask_about_readings(site=job, now=make.MONDAY + after)
    return list(Alert.objects.filter(site=job, rule=RULE).order_by("opened_at", "cause"))


def test_same_readings_at_three_openings_are_asked_about_once(job: Site, hand: Person) -> None:
    openings = log(hand, job, [honest(1)] * 3)
    (alert,) = asked(job)
    assert alert.evidence["pattern"] == "same_set"
    assert alert.evidence["openings"] == [opening.number for opening in openings]
    assert alert.severity == "notice"
    assert asked(job, after=make.DAY * 2) == [alert]


def test_an_open_question_grows_with_its_pattern_and_stays_one(job: Site, hand: Person) -> None:
    log(hand, job, [honest(1)] * 3)
    asked(job)
    log(hand, job, [honest(1)] * 2, at=make.MONDAY + PACE * 5)
    (alert,) = asked(job)
    assert alert.evidence["openings_in_all"] == 5


def test_a_question_that_was_answered_is_not_asked_again(job: Site, hand: Person) -> None:
    log(hand, job, [honest(1)] * 3)
    (alert,) = asked(job)
    close(alert=alert, who=make.supervisor(job), why="One jig set all three; measured again.", now=make.MONDAY)
    log(hand, job, [honest(1)] * 2, at=make.MONDAY + PACE * 5)
    (again,) = asked(job)
    assert (again.closed_how, again.evidence["openings_in_all"]) == ("person", 3)


def test_frames_read_faster_than_a_tape_allows_are_asked_about(job: Site, hand: Person) -> None:
    log(hand, job, [honest(seed) for seed in range(4)], pace=timedelta(seconds=40))
    (alert,) = asked(job)
    assert alert.evidence["figures"] == {"checks": 4, "seconds": 120}


def test_readings_typed_in_at_a_desk_say_nothing_of_the_pace(job: Site) -> None:
    for seed in range(4):
        at = make.MONDAY + timedelta(seconds=20 * seed)
        make.frame_check(make.supervisor(job), make.opening(job), readings=honest(seed), at=at)
    assert asked(job) == []


def test_a_reading_that_never_varies_is_asked_about(job: Site, hand: Person) -> None:
    log(hand, job, [honest(seed) | {"alignment": "1/32"} for seed in range(11)])
    (alert,) = asked(job)
    assert (alert.evidence["pattern"], alert.evidence["figures"]["reading"]) == ("never_varies", "alignment")


def test_readings_taken_back_are_not_asked_about(job: Site, hand: Person) -> None:
    openings = log(hand, job, [honest(1)] * 3)
    reading = CheckIn.objects.get(opening=openings[0], action="finish")
    make.check_in(hand, openings[0], "trueness", "void", about=reading.pk, note="wrong door", at=make.MONDAY + PACE * 4)
    assert asked(job) == []


def test_what_is_older_than_the_last_days_is_left_alone(job: Site, hand: Person) -> None:
    log(hand, job, [honest(1)] * 3)
    assert asked(job, after=RECENT + make.DAY * 2) == []


def test_another_sites_readings_are_no_part_of_it(job: Site, hand: Person) -> None:
    log(hand, job, [honest(1)] * 2)
    elsewhere = make.site()
    log(make.crew(elsewhere), elsewhere, [honest(1)])
    assert asked(job) == []


def test_the_job_that_runs_every_quarter_of_an_hour_asks(job: Site, hand: Person) -> None:
    log(hand, job, [honest(1)] * 3, at=read_clock() - make.DAY)
    raise_alerts.apply()
    assert Alert.objects.filter(rule=RULE).count() == 1


@pytest.mark.parametrize(
    ("language", "said"), [("en", "the same set of readings at 3"), ("es", "las mismas lecturas en 3 vanos")]
)
def test_the_page_tells_figures_and_names_no_person(job: Site, language: str, said: str) -> None:
    hand = make.member(job, "crew", trades=["frame_crew"])
    openings = log(hand, job, [honest(1)] * 3)
    asked(job)
    page = words(signed_in(make.supervisor(job)).get(f"/s/{job.code}/alerts?lang={language}"))
    assert said in page
    assert all(opening.number in page for opening in openings)
    assert hand.name not in page


@pytest.mark.parametrize("seed", [1, 2])
def test_honest_crews_of_a_simulated_job_are_asked_nothing(seed: int) -> None:
    """Five weeks of readings with a tape's error, by hands of whom some are careless and none dishonest."""
    demo = simulate(now=make.MONDAY, seed=seed, count=244)
    entries = [entry for batch in demo.batches for entry in batch.entries if entry.said.readings]
    checks = [
        LoggedCheck(
            str(entry.id), entry.opening, BY_PHONE[entry.phone].owner, to_ms(entry.at),
            read_readings(entry.said.readings).lengths,
        )
        for entry in entries
    ]  # fmt: skip
    assert len(checks) > 400
    assert questions(checks) == []


def test_honest_crews_of_the_loaded_demo_are_asked_nothing() -> None:
    site = load(now=make.MONDAY, seed=3, openings=48)
    for days in range(0, 36, 7):
        ask_about_readings(site=site, now=make.MONDAY - timedelta(days=days))
    assert CheckIn.objects.exclude(readings={}).count() > 60
    assert not Alert.objects.filter(rule=RULE).exists()
