"""The demo's five weeks before they are loaded: when work is done, what is told, and that a seed settles everything."""

from collections import Counter
from datetime import UTC, datetime, timedelta
from fractions import Fraction
from statistics import fmean, pstdev
from uuid import RFC_4122

import pytest

from sitetrack.demo.entries import Entry
from sitetrack.demo.simulate import Demo, simulate
from sitetrack.kit.lengths import parse_length

WEDNESDAY = datetime(2026, 3, 4, 16, 30, tzinfo=UTC)  # half past ten in the morning in Chicago
BEFORE_DAWN = datetime(2026, 3, 4, 9, 0, tzinfo=UTC)
SUNDAY = datetime(2026, 3, 8, 15, 0, tzinfo=UTC)  # the night before, clocks went forward
WEEK = [WEDNESDAY + timedelta(days=n) for n in range(7)]


def entries(demo: Demo) -> list[Entry]:
    return [entry for batch in demo.batches for entry in batch.entries]


def reports(demo: Demo, number: str) -> list[tuple[str, str]]:
    return [(entry.stage, entry.action) for entry in entries(demo) if entry.opening == number]


def test_a_seed_settles_everything_to_the_last_id() -> None:
    assert simulate(now=WEDNESDAY, seed=7, count=40).batches == simulate(now=WEDNESDAY, seed=7, count=40).batches


def test_another_seed_makes_another_job() -> None:
    assert entries(simulate(now=WEDNESDAY, seed=7, count=40)) != entries(simulate(now=WEDNESDAY, seed=8, count=40))


@pytest.mark.parametrize("now", [WEDNESDAY, SUNDAY], ids=["on a weekday", "on a Sunday"])
def test_five_weeks_of_check_ins_end_this_morning(now: datetime) -> None:
    demo = simulate(now=now, seed=1, count=60)
    moments = [entry.at for entry in entries(demo)]
    assert timedelta(weeks=5) - timedelta(days=3) < max(moments) - min(moments) <= timedelta(weeks=5, hours=3)
    assert demo.days.day_of(max(moments)) == demo.days.day_of(now)
    assert all(batch.received_at <= now for batch in demo.batches)


def test_before_the_crews_have_begun_the_last_day_is_the_day_before() -> None:
    demo = simulate(now=BEFORE_DAWN, seed=1, count=60)
    last = max(entry.at for entry in entries(demo)).astimezone(demo.days.zone)
    assert last.date() == BEFORE_DAWN.date() - timedelta(days=1)
    assert last.hour >= 12


def test_work_is_done_in_working_hours() -> None:
    demo = simulate(now=WEDNESDAY, seed=1, count=60)
    for entry in entries(demo):
        here = entry.at.astimezone(demo.days.zone)
        minutes = here.hour * 60 + here.minute
        assert 6 * 60 + 30 <= minutes <= 15 * 60 + 30, here
        assert here.weekday() < 5, here


@pytest.mark.parametrize("now", WEEK, ids=[f"{now:%A}" for now in WEEK])
@pytest.mark.parametrize("count", [36, 244])
def test_every_story_is_told_whatever_day_it_is_loaded(now: datetime, count: int) -> None:
    demo = simulate(now=now, seed=1, count=count)
    cast = demo.cast
    told = {number: reports(demo, number) for number in {entry.opening for entry in entries(demo)}}
    assert told[cast.wrong_hand].index(("match", "fail")) < told[cast.wrong_hand].index(("match", "release"))
    assert ("match", "finish") in told[cast.wrong_hand]
    assert ("set", "release") in told[cast.held_and_released]
    assert told[cast.long_hold][-1] == ("set", "hold")
    assert told[cast.fresh_hold][-1] == ("stud", "hold")
    assert told[cast.outdated].count(("roughin", "finish")) == 2
    assert told[cast.outdated][-1] == ("roughin", "finish")
    assert told[cast.misread_tape].count(("trueness", "finish")) == 2
    assert ("recheck", "sign") in told[cast.spreaders_out]
    assert ("finish", "void") in told[cast.taken_back]
    assert ("trueness", "finish") not in told[cast.never_checked]
    assert told[cast.never_checked][-1] == ("board", "start")
    assert told[cast.number_read_as] == [("layout", "finish")]


@pytest.mark.parametrize("now", WEEK, ids=[f"{now:%A}" for now in WEEK])
def test_the_late_phone_is_heard_after_the_board_it_explains(now: datetime) -> None:
    demo = simulate(now=now, seed=1, count=60)
    heard = {
        (entry.stage, entry.action): (entry.at, batch.received_at)
        for batch in demo.batches
        for entry in batch.entries
        if entry.opening == demo.cast.late_phone
    }
    read, signed, boarded = heard["trueness", "finish"], heard["trueness", "sign"], heard["board", "start"]
    assert read[0] < signed[0] < boarded[0]
    assert boarded[1] < read[1] < signed[1]
    assert read[1] - read[0] > timedelta(days=3)


def test_ids_are_of_version_7_and_of_the_moment_of_the_check_in() -> None:
    """RFC 9562 section 5.7: 48 bits of Unix milliseconds, the version, and the variant that Python calls RFC 4122."""
    made = entries(simulate(now=WEDNESDAY, seed=1, count=40))
    assert len({entry.id for entry in made}) == len(made)
    for entry in made:
        assert (entry.id.version, entry.id.variant) == (7, RFC_4122)
        assert entry.id.int >> 80 == int(entry.at.timestamp() * 1000)


def test_late_batches_are_received_hours_or_days_after_the_work() -> None:
    demo = simulate(now=WEDNESDAY, seed=1, count=244)
    waits = [batch.received_at - entry.at for batch in demo.batches for entry in batch.entries]
    assert all(wait >= timedelta(0) for wait in waits)
    assert 0.01 < sum(wait > timedelta(hours=3) for wait in waits) / len(waits) < 0.2
    assert max(waits) > timedelta(days=3)


def test_readings_look_measured() -> None:
    """In 32nds as a tape shows them, spread by about one, and most but not all within the 1/16 in that the
    public-agency project specification 08 11 13 allows."""
    demo = simulate(now=WEDNESDAY, seed=1, count=244)
    plumb = [
        parse_length(entry.said.readings["strike_plumb_face"]).inches
        for entry in entries(demo)
        if entry.stage == "trueness" and entry.said.readings
    ]
    assert len(plumb) > 150
    assert all((value * 32).denominator == 1 for value in plumb)
    assert len(set(plumb)) >= 5
    assert abs(fmean(plumb)) < 1 / 64
    assert 1 / 64 < pstdev(plumb) < 3 / 64
    assert 0.9 < sum(abs(value) <= Fraction(1, 16) for value in plumb) / len(plumb) < 1


def test_the_site_is_mixed() -> None:
    demo = simulate(now=WEDNESDAY, seed=1, count=244)
    lines = [line.split(",") for line in demo.first_issue.splitlines()[3:]]
    assert len(lines) == 244
    ratings = Counter(word for line in lines for word in line if word == "NR" or word.endswith(" MIN"))
    assert set(ratings) == {"NR", "20 MIN", "45 MIN", "60 MIN", "90 MIN"}
    for word in ("welded", "knocked down", "W1", "W2", "W3", "Sealed concrete", "2", "Y", "LH", "RH", "LHR", "RHR"):
        assert any(word in line for line in lines), word
    assert '"3/4"""' in demo.first_issue
