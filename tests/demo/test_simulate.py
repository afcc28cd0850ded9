"""`manage.py simulate`: copied sites that are whole, not for reading only."""

from collections import Counter
from dataclasses import replace
from io import StringIO
from typing import Any, ClassVar
from unittest.mock import patch

import pytest
from django.core.management import CommandError, call_command
from django.test import TestCase

from inspections.models import Alert, CheckIn, FrameCheck, Hold, KeptAside, Progress, SealedEntry, SignOff
from inspections.services.work_out import as_it_stands, work_out
from inspections.sync.pull import Pull, pull
from openings.models import Building, Opening, ScheduleChange, ScheduleRevision, Site
from sitetrack.access.models import Device, Membership, Person
from sitetrack.demo import many_sites
from sitetrack.demo.copied_site import Part, begun_first
from sitetrack.demo.names import BY_KEY, PEOPLE, SUPERVISOR
from sitetrack.demo.patterns import Pattern, worked_patterns
from sitetrack.kit.clock import now

SITES, OPENINGS = 2, 50
CODES = ["trial-1", "trial-2"]


def simulate(*args: str) -> str:
    out = StringIO()
    call_command("simulate", *args, stdout=out)
    return out.getvalue()


class CopiedSites(TestCase):
    """Two sites of fifty openings, of one pattern of thirty-six; no test here changes them for another."""

    said: str
    patterns: ClassVar[list[Pattern]] = []

    @classmethod
    def setUpTestData(cls) -> None:
        def kept_for_later(*args: Any, **told: Any) -> list[Pattern]:
            cls.patterns.extend(worked_patterns(*args, **told))
            return cls.patterns

        with patch(f"{many_sites.__name__}.worked_patterns", kept_for_later):
            cls.said = simulate(
                "--sites", str(SITES), "--openings", str(OPENINGS), "--code", "trial", "--worked-patterns", "1"
            )

    def test_as_many_sites_and_openings_as_asked_for_and_no_pattern_is_left(self) -> None:
        assert list(Site.objects.values_list("code", flat=True)) == CODES
        for site in Site.objects.all():
            assert Opening.objects.filter(site=site).count() == OPENINGS
            sizes = Counter(Opening.objects.filter(site=site).values_list("floor__building__code", flat=True))
            assert sum(sizes.values()) == OPENINGS
            assert sizes["A"] > sizes["B"] > 0
        assert "2 of 2  trial-2: 50 openings" in self.said
        assert f"2 sites, trial-1 to trial-2: 100 openings, {CheckIn.objects.count():,} check-ins" in self.said

    def test_the_partial_building_has_the_first_openings_of_the_walk(self) -> None:
        whole, part = (
            [
                number.removeprefix(building.code)
                for number in Opening.objects.filter(floor__building=building).values_list("number", flat=True)
            ]
            for building in Building.objects.filter(site__code=CODES[0])
        )
        assert part == whole[: len(part)]

    def test_the_sealed_record_of_each_is_whole(self) -> None:
        for code in CODES:
            out = StringIO()
            call_command("verify_record", "--site", code, stdout=out)
            entries = SealedEntry.objects.filter(site__code=code)
            assert f"is whole: {entries.count()} entries" in out.getvalue()
            moments = list(entries.order_by("n").values_list("sealed_at", flat=True))
            assert moments == sorted(moments)
            assert SignOff.objects.filter(site__code=code).exists()

    def test_every_opening_folds_to_what_is_stored(self) -> None:
        stored = dict(Progress.objects.values_list("opening", "state"))
        worked, _ = as_it_stands(stored, now())
        assert len(worked) == SITES * OPENINGS
        assert [w.opening.number for w in worked if stored[w.opening.pk] != w.state.to_dict()] == []

    def test_working_every_opening_out_again_changes_nothing(self) -> None:
        def rows() -> list[Any]:
            return [list(model.objects.order_by("pk").values()) for model in (Alert, Hold, Progress, Site)]

        before = rows()
        assert before[0]
        assert before[1]
        assert work_out(opening_ids=Opening.objects.values_list("pk", flat=True), now=now()) == 0
        assert rows() == before

    def test_numbers_are_once_on_a_site_and_rise_with_the_moments(self) -> None:
        for site in Site.objects.all():
            models = (Opening, CheckIn, Progress, Alert, KeptAside)
            seqs = [seq for model in models for seq in model.objects.filter(site=site).values_list("seq", flat=True)]
            assert len(set(seqs)) == len(seqs)
            assert max(seqs) <= site.change_counter
            assert min(seqs) == 1
            received = list(CheckIn.objects.filter(site=site).order_by("seq").values_list("received_at", flat=True))
            assert received == sorted(received)
            phones = list(CheckIn.objects.filter(site=site).values_list("device", "counter"))
            assert len(set(phones)) == len(phones)

    def test_nothing_of_one_site_names_what_is_of_another(self) -> None:
        for check_in in CheckIn.objects.select_related("opening__floor__building", "device"):
            site = check_in.site_id
            assert {check_in.opening.site_id, check_in.opening.floor.building.site_id} == {site}
            assert check_in.device is None or check_in.device.site_id == site
        for about, site, opening in CheckIn.objects.exclude(about=None).values_list("about", "site", "opening"):
            assert CheckIn.objects.filter(pk=about, site=site, opening=opening).exists()
        for check in FrameCheck.objects.select_related("check_in", "profile"):
            assert check.opening_id == check.check_in.opening_id
            assert check.profile.site_id == check.site_id
        assert not Hold.objects.exclude(pk__in=CheckIn.objects.values("pk")).exists()

    def test_nothing_lies_ahead_and_sites_lie_whole_weeks_apart(self) -> None:
        assert not CheckIn.objects.filter(received_at__gt=now()).exists()
        first, second = (
            CheckIn.objects.filter(site__code=code, opening__floor__building__code="A").earliest("corrected_at")
            for code in CODES
        )
        apart = first.corrected_at - second.corrected_at
        assert apart
        assert (apart.days % 7, apart.seconds) == (0, 0)

    def test_everybody_was_there_before_the_first_work_whichever_building_comes_first(self) -> None:
        for site in Site.objects.all():
            began = CheckIn.objects.filter(site=site).earliest("corrected_at").corrected_at
            assert Membership.objects.filter(site=site).latest("began_at").began_at < began
            assert Device.objects.filter(site=site).latest("enrolled_at").enrolled_at < began
        (early,) = self.patterns
        late = replace(early, numbered=tuple((at + 1, seq, place) for at, seq, place in early.numbered))
        assert begun_first([Part(late, 5, "A"), Part(early, 5, "B")]) is early

    def test_the_schedule_came_building_by_building(self) -> None:
        revisions = ScheduleRevision.objects.filter(site__code=CODES[0]).order_by("n")
        assert [revision.n for revision in revisions] == [1, 2, 3, 4]
        for revision in revisions:
            assert revision.added == ScheduleChange.objects.filter(revision=revision, kind="added").count()

    def test_a_phone_pulls_the_site_from_nothing(self) -> None:
        site = Site.objects.get(code=CODES[1])
        device = Device.objects.filter(site=site).earliest("pk")
        cursor, more, openings = "", True, dict[str, Any]()
        while more:
            page = pull(asked=Pull(device.person, device, site.pk, cursor), now=now())
            openings |= {c["id"]: c["data"] for c in page.changes if c["type"] == "opening"}
            cursor, more = page.cursor, page.more
        listed = Opening.objects.filter(site=site, in_schedule=True).values_list("pk", flat=True)
        assert {id_ for id_, data in openings.items() if data} == {str(pk) for pk in listed}
        assert len(listed) >= OPENINGS - 1

    def test_the_people_of_the_demo_work_on_every_site(self) -> None:
        assert Person.objects.count() == len(PEOPLE)
        assert Membership.objects.count() == SITES * len(PEOPLE)
        self.client.force_login(Person.objects.get(email=BY_KEY[SUPERVISOR].email))
        for code in CODES:
            for page in ("today", "openings/B1001"):
                assert self.client.get(f"/s/{code}/{page}").status_code == 200, (code, page)

    def test_what_is_there_is_not_written_over_and_another_prefix_goes_beside_it(self) -> None:
        with pytest.raises(CommandError, match=r"--code trial: .*trial-1 for one \(2 of those wanted\)"):
            simulate("--sites", "2", "--openings", "40", "--code", "trial")
        before = Opening.objects.count()
        with patch(f"{many_sites.__name__}.worked_patterns", return_value=self.patterns):
            simulate("--sites", "1", "--openings", "5", "--code", "other", "--worked-patterns", "1")
        assert Opening.objects.count() == before + 5

    def test_stopped_in_the_middle_only_whole_sites_are_left(self) -> None:
        with (
            patch(f"{many_sites.__name__}.worked_patterns", return_value=self.patterns),
            patch("sitetrack.demo.copied_site.raise_site_alerts", side_effect=[None, KeyboardInterrupt()]),
            pytest.raises(CommandError, match="The 1 sites written so far are whole"),
        ):
            simulate("--sites", "3", "--openings", "5", "--code", "short", "--worked-patterns", "1")
        assert list(Site.objects.filter(code__startswith="short").values_list("code", flat=True)) == ["short-1"]
        assert Opening.objects.filter(site__code="short-1").count() == 5


@pytest.mark.parametrize(
    ("args", "told"),
    [
        (("--sites", "0", "--openings", "50"), "--sites 0: expected a number from 1 to 9999"),
        (("--sites", "1", "--openings", "-3"), "--openings -3: expected a number from 1 to 10000"),
        (("--sites", "1", "--openings", "50", "--worked-patterns", "13"), "--worked-patterns 13: expected"),
        (("--sites", "1", "--openings", "50", "--code", "Two words"), "--code 'Two words': expected 1 to 14"),
        (("--sites", "1", "--openings", "50", "--code", "much-too-long-a-prefix"), "--code 'much-too"),
    ],
)
@pytest.mark.django_db
def test_what_cannot_be_written_is_refused_in_a_sentence(args: tuple[str, ...], told: str) -> None:
    with pytest.raises(CommandError, match=told):
        simulate(*args)
    assert not Person.objects.exists()


@pytest.mark.django_db
def test_it_is_not_written_in_production(settings: Any) -> None:
    settings.PRODUCTION = True
    with pytest.raises(CommandError, match="SITETRACK_PRODUCTION"):
        simulate("--sites", "1", "--openings", "50")
