"""The demo as it is loaded: every story can be found in what the server made of the check-ins."""

from datetime import UTC, datetime, timedelta
from statistics import fmean

from django.test import TestCase

from inspections.models import Alert, CheckIn, FrameCheck, Hold, KeptAside, Progress, SignOff, StageStanding
from inspections.services.audit import audit_projection
from inspections.services.signing import digest_of
from openings.models import DirtyOpening, Opening, ScheduleRevision, Site
from sitetrack.access.models import Membership
from sitetrack.access.roles import Role
from sitetrack.demo.load import load
from sitetrack.demo.names import BY_KEY, DEMO_PASSWORD
from sitetrack.demo.simulate import Demo, simulate
from sitetrack.demo.story import Cast
from sitetrack.demo.tour import tour
from sitetrack.kit.lengths import parse_length

NOW = datetime(2026, 3, 4, 16, 30, tzinfo=UTC)  # a Wednesday, half past ten in the morning in Chicago
SEED, COUNT = 3, 48


class LoadedSite(TestCase):
    """One loading for every test here; none of them changes it."""

    site: Site
    demo: Demo
    cast: Cast

    @classmethod
    def setUpTestData(cls) -> None:
        cls.site = load(now=NOW, seed=SEED, openings=COUNT)
        cls.demo = simulate(now=NOW, seed=SEED, count=COUNT)
        cls.cast = cls.demo.cast

    def alerts(self, number: str, rule: str) -> list[Alert]:
        return list(Alert.objects.filter(opening__number=number, rule=rule))

    def standing(self, number: str, stage: str) -> str:
        return StageStanding.objects.values_list("state", flat=True).get(opening__number=number, stage=stage)

    def test_what_is_stored_is_what_was_simulated(self) -> None:
        made = {entry.id: entry for batch in self.demo.batches for entry in batch.entries}
        stored = {check_in.pk: check_in for check_in in CheckIn.objects.select_related("opening")}
        aside = set(KeptAside.objects.values_list("pk", flat=True))
        assert made.keys() == stored.keys() | aside
        for id_, check_in in stored.items():
            entry = made[id_]
            assert check_in.opening.number == entry.opening
            assert check_in.readings == dict(entry.said.readings)
            assert abs(check_in.corrected_at - entry.at) < timedelta(seconds=1)

    def test_the_projection_equals_the_fold_and_nothing_is_owed(self) -> None:
        assert not DirtyOpening.objects.exists()
        audit = audit_projection(sample=COUNT * 2)
        assert audit.looked_at == Opening.objects.count() == COUNT + 1
        assert audit.different == ()

    def test_nothing_went_wrong_but_what_is_told(self) -> None:
        states = list(Progress.objects.values_list("opening__number", "state"))
        assert {number for number, state in states if state["breaches"]} == {self.cast.never_checked}
        assert not any(state["conflicts"] for _, state in states)

    def test_one_frame_boarded_before_it_was_checked_stands_critical_and_open(self) -> None:
        (alert,) = Alert.objects.filter(rule="boarded-before-checked", closed_at=None).select_related("opening")
        assert alert.opening is not None
        assert (alert.opening.number, alert.severity) == (self.cast.never_checked, "critical")
        assert alert.opened_at < NOW

    def test_the_other_was_explained_by_a_late_phone(self) -> None:
        (alert,) = self.alerts(self.cast.late_phone, "boarded-before-checked")
        (unsigned,) = self.alerts(self.cast.late_phone, "went-on-before-signed")
        assert (alert.closed_how, unsigned.closed_how) == ("evidence", "evidence")
        assert alert.closed_at
        assert unsigned.closed_at
        assert alert.opened_at < alert.closed_at <= unsigned.opened_at < unsigned.closed_at
        read = CheckIn.objects.get(opening__number=self.cast.late_phone, stage="trueness", action="finish")
        assert read.received_at - read.corrected_at > timedelta(days=3)
        assert read.corrected_at < alert.happened_at < read.received_at
        assert self.standing(self.cast.late_phone, "trueness") == "done"

    def test_a_wrong_hand_was_found_held_and_replaced(self) -> None:
        checks = FrameCheck.objects.filter(opening__number=self.cast.wrong_hand, stage="match").order_by("read_at")
        assert list(checks.values_list("verdict", flat=True)) == ["fail", "pass"]
        assert Hold.objects.filter(opening__number=self.cast.wrong_hand, released_at__isnull=False).exists()
        assert self.standing(self.cast.wrong_hand, "match") == "done"

    def test_holds_are_open_released_and_older_than_the_limit(self) -> None:
        assert Hold.objects.get(opening__number=self.cast.held_and_released, stage="set").released_at
        assert Hold.objects.filter(opening__number=self.cast.fresh_hold, released_at=None).exists()
        (old,) = self.alerts(self.cast.long_hold, "hold-too-old")
        assert old.closed_at is None
        assert old.opened_at - old.happened_at > timedelta(days=self.site.hold_limit_days)

    def test_a_check_is_outdated_by_wiring_done_again(self) -> None:
        state = Progress.objects.get(opening__number=self.cast.outdated).state["stages"]["trueness"]
        assert (state["state"], state["outdated_by"]) == ("outdated", ["roughin"])
        assert self.standing(self.cast.outdated, "board") == "waiting"

    def test_a_misread_tape_contradicts_itself_and_is_read_again(self) -> None:
        checks = FrameCheck.objects.filter(opening__number=self.cast.misread_tape, stage="trueness").order_by("read_at")
        assert [check.verdict for check in checks] == ["fail", "pass"]
        # Without diagonals nothing tells which of the two widths was misread; both are named.
        assert "width_floor" in checks[0].judged["contradictions"][0]["one_of"]
        (alert,) = self.alerts(self.cast.misread_tape, "readings-contradict")
        assert (alert.closed_how, alert.closed_by) == ("person", self.supervisor())

    def test_spreaders_gone_before_the_recheck_fail_it(self) -> None:
        checks = FrameCheck.objects.filter(opening__number=self.cast.spreaders_out, stage="recheck").order_by("read_at")
        assert [check.verdict for check in checks] == ["fail", "pass"]
        assert self.alerts(self.cast.spreaders_out, "spreaders-out-before-recheck")

    def test_a_check_in_was_taken_back(self) -> None:
        void = CheckIn.objects.get(opening__number=self.cast.taken_back, action="void")
        assert str(void.about) in Progress.objects.get(opening__number=self.cast.taken_back).state["taken_back"]

    def test_a_misread_number_is_kept_aside_and_its_opening_waits(self) -> None:
        aside = KeptAside.objects.get(settled="")
        assert aside.payload["opening"] == self.cast.number_read_as
        assert self.standing(self.cast.number_misread, "layout") == "ready"
        assert Alert.objects.filter(rule="kept-aside-waiting", closed_at=None).exists()

    def test_a_revision_in_the_third_week_meets_a_frame_already_set(self) -> None:
        revision = ScheduleRevision.objects.get(n=2)
        assert timedelta(days=14) < revision.taken_in_at - CheckIn.objects.earliest("corrected_at").corrected_at
        assert (revision.added, revision.changed, revision.missing, revision.refused) == (1, 6, 1, 0)
        (alert,) = self.alerts(self.cast.turned_after_set, "schedule-changed-after-set")
        assert (alert.severity, alert.closed_at, alert.acknowledged_by) == ("critical", None, self.supervisor())
        assert Opening.objects.filter(in_schedule=False).count() == 1

    def test_one_board_crew_knocks_frames_out(self) -> None:
        """The strike jamb's mean move from the last reading before board to the first after it, crew by crew."""
        moved: dict[str, list[float]] = {"temo": [], "efrain": []}
        for number in Opening.objects.values_list("number", flat=True):
            before = self.readings(number, "trueness")
            after = self.readings(number, "recheck")
            if before and after:
                who = after[0].person.email.partition("@")[0]
                face = [parse_length(c.readings["strike_plumb_face"]).inches for c in (before[-1], after[0])]
                moved[who].append(float(face[1] - face[0]))
        assert min(len(each) for each in moved.values()) >= 8
        assert abs(fmean(moved["efrain"])) < 1 / 64
        assert fmean(moved["temo"]) > 1 / 32

    def test_a_clock_forty_minutes_ahead_is_corrected(self) -> None:
        painted = CheckIn.objects.filter(person__email=BY_KEY["tomasz"].email)
        ahead = [check_in.happened_at - check_in.corrected_at for check_in in painted]
        assert ahead
        assert all(abs(each - timedelta(minutes=40)) < timedelta(seconds=1) for each in ahead)
        assert not painted.exclude(clock_flag="").exists()

    def test_sign_offs_are_chained(self) -> None:
        before = ""
        for sign_off in SignOff.objects.order_by("n"):
            assert sign_off.digest_before == before
            assert sign_off.digest == digest_of(sign_off)
            before = sign_off.digest
        assert before

    def test_everyone_shown_can_sign_in_and_has_a_role(self) -> None:
        assert set(Membership.objects.values_list("role", flat=True)) == set(Role.values)
        for person in BY_KEY.values():
            given = {"username": person.email, "password": DEMO_PASSWORD}
            assert (self.client.post("/sign-in", given).status_code == 302) is bool(person.shown)
            self.client.logout()

    def test_the_words_printed_name_openings_of_the_stories(self) -> None:
        words = tour(site=self.site, address="http://127.0.0.1:8000", now=NOW)
        for number in (self.cast.never_checked, self.cast.late_phone):
            assert f"/s/quillmere/openings/{number}\n" in words
        assert "Temo Barrazueta" in words
        assert "Authorization: Bearer st_" in words
        assert "None" not in words

    def readings(self, number: str, stage: str) -> list[CheckIn]:
        found = CheckIn.objects.filter(opening__number=number, stage=stage, action="finish").exclude(readings={})
        return list(found.select_related("person").order_by("corrected_at"))

    def supervisor(self) -> object:
        return Membership.objects.get(site=self.site, role=Role.SUPERVISOR).person
