"""Checks read again by other tolerances: a report that changes nothing, in memory that does not grow."""

import tracemalloc
from io import StringIO

import pytest
from django.core.management import CommandError, call_command
from django.db import transaction

from inspections.models import CheckIn, FrameCheck
from inspections.services.profiles import prepared_profile, set_profile
from inspections.services.rejudging import Rejudged, rejudge
from inspections.trueness.profile import ToleranceProfile
from openings.models import Opening, Site
from openings.services.changes import next_numbers
from sitetrack.kit.ids import new_id
from sitetrack.kit.lengths import parse_length
from tests import builders as make
from tests.memory import memory_traced

pytestmark = pytest.mark.django_db

# The top of the hinge jamb 1/16 in toward the pull side: at the limit of public-agency specification 08 11 13.
AT_THE_LIMIT = make.TRUE_READINGS | {"hinge_plumb_face": "1/16", "twist": "-1/16"}
OUT = make.TRUE_READINGS | {"hinge_plumb_face": "3/32", "twist": "-3/32"}


@pytest.fixture
def job() -> Site:
    return make.site()


def by(job: Site, **limits: str) -> Rejudged:
    return rejudge(site=job, profile=ToleranceProfile.from_dict(limits))


def test_tighter_limits_fail_what_was_just_inside_and_name_the_measure(job: Site) -> None:
    hand = make.crew(job)
    make.frame_check(hand, make.opening(job), readings=AT_THE_LIMIT)
    make.frame_check(hand, make.opening(job))
    report = by(job, plumb="1/32")
    assert (report.looked_at, dict(report.verdicts)) == (2, {("pass", "fail"): 1})
    assert {name: (change.now_out, change.now_in) for name, change in report.items.items()} == {
        "hinge_plumb_face": (1, 0)
    }


def test_wider_limits_pass_what_was_out_unless_something_else_is(job: Site) -> None:
    hand = make.crew(job)
    make.frame_check(hand, make.opening(job), readings=OUT)
    make.frame_check(hand, make.opening(job), readings=OUT, answers=make.TRUENESS_ANSWERS | {"spreaders_in": False})
    report = by(job, plumb="1/8", twist="1/8")
    assert dict(report.verdicts) == {("fail", "pass"): 1}
    assert report.items["twist"].now_in == 2


def test_a_check_that_its_hand_failed_stays_failed(job: Site) -> None:
    readings = {"readings": OUT, "answers": make.TRUENESS_ANSWERS}
    make.check_in(make.crew(job), make.opening(job), "trueness", "fail", note="dented", **readings)
    assert by(job, plumb="1/8", twist="1/8").changed == 0


def test_bare_numbers_keep_the_units_of_their_day(job: Site) -> None:
    make.frame_check(make.crew(job), make.opening(job))
    # Read as millimetres, an opening 36 in wide would measure 36 mm.
    assert by(job, units="metric").changed == 0


def test_what_a_revision_changed_is_not_blamed_on_the_profile(job: Site) -> None:
    opening = make.opening(job)
    make.frame_check(make.crew(job), opening)
    Opening.objects.filter(pk=opening.pk).update(width=parse_length("42"))
    report = by(job)
    assert (report.changed, report.rescheduled) == (0, 1)


def test_stored_verdicts_stay_as_they_were_given(job: Site) -> None:
    make.frame_check(make.crew(job), make.opening(job), readings=AT_THE_LIMIT)
    before = list(FrameCheck.objects.values())
    assert by(job, plumb="1/32").changed == 1
    assert list(FrameCheck.objects.values()) == before


def test_another_sites_checks_are_not_read(job: Site) -> None:
    other = make.site()
    make.frame_check(make.crew(other), make.opening(other))
    assert by(job).looked_at == 0


def copies(of: CheckIn, count: int) -> None:
    """So many more readings like that one, written as rows: only the reading of them is of interest."""
    check = of.frame_check
    rows = []
    with transaction.atomic():
        for number in next_numbers(of.site_id, count):
            of.pk, of.seq, of._state.adding = new_id(), number, True
            rows.append(CheckIn(**{f.attname: getattr(of, f.attname) for f in CheckIn._meta.concrete_fields}))
        CheckIn.objects.bulk_create(rows, batch_size=500)
        judged = {f.attname: getattr(check, f.attname) for f in FrameCheck._meta.concrete_fields}
        FrameCheck.objects.bulk_create((FrameCheck(**judged | {"check_in_id": row.pk}) for row in rows), batch_size=500)


def peak(job: Site) -> tuple[int, int]:
    with memory_traced():
        looked_at = by(job, plumb="1/32").looked_at
        return looked_at, tracemalloc.get_traced_memory()[1]


def test_four_times_as_many_checks_take_no_more_memory(job: Site) -> None:
    like = make.frame_check(make.crew(job), make.opening(job))
    copies(like, 420)
    by(job)  # what is prepared once in a process is not the cost of the checks
    few, small = peak(job)
    copies(like, 1260)
    many, large = peak(job)
    assert (few, many) == (421, 1681)
    assert large < small * 1.5  # held all at once it would be four times as much


def told(*asked: str) -> str:
    out = StringIO()
    call_command("rejudge", *asked, stdout=out)
    return out.getvalue()


def test_the_command_reports_a_limit_that_is_only_thought_of(job: Site) -> None:
    make.frame_check(make.crew(job), make.opening(job), readings=AT_THE_LIMIT)
    assert "1 checks read again; 1 verdicts would change." in told("--site", job.code, "--set", "plumb=1/32")
    assert "Nothing was stored" in told("--site", job.code)


def test_the_command_reads_by_a_version_that_is_asked_for(job: Site) -> None:
    make.frame_check(make.crew(job), make.opening(job), readings=AT_THE_LIMIT)
    made = set_profile(site=job, changes={"plumb": "1/32"}, who=make.supervisor(job), now=make.MONDAY)
    assert prepared_profile(made.pk).plumb.length == parse_length("1/32")
    assert "pass -> fail: 1" in told("--site", job.code)
    assert "0 verdicts would change" in told("--site", job.code, "--profile", "1")


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        (["--profile", "9"], "no version 9"),
        (["--set", "plumb"], "such as plumb=1/8"),
        (["--set", "plum=1"], "one of the settings"),
        (["--set", "plumb=0"], "profile.plumb"),
    ],
)
def test_what_the_command_cannot_use_it_names(job: Site, asked: list[str], said: str) -> None:
    with pytest.raises(CommandError, match=said):
        told("--site", job.code, *asked)


def test_a_site_that_is_not_there_is_named_with_those_that_are(job: Site) -> None:
    with pytest.raises(CommandError, match=f"'nowhere'.*{job.code}"):
        told("--site", "nowhere")
