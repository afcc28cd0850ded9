"""What has an end goes when its time is up; the record has none."""

from datetime import timedelta
from io import StringIO
from typing import Any

import pytest
from axes.models import AccessAttempt, AccessFailureLog, AccessLog
from django.apps import apps
from django.contrib.sessions.models import Session
from django.core.files.base import ContentFile
from django.core.management import call_command
from django.db.models import Model

from inspections.models import Mail, Webhook, WebhookMessage
from inspections.models.mails import SendState
from openings.models import IntakeDraft, PlanDraft, Site
from openings.services.drafts import hold_file
from sitetrack.access.models import EnrolmentCode, FailedTry, Invitation, SignedIn
from sitetrack.access.roles import Role
from sitetrack.operations.retention import count_old, kinds, tidy
from tests import builders as b

pytestmark = pytest.mark.django_db

NOW = b.MONDAY + timedelta(days=365)
HOUR = timedelta(hours=1)


def days(n: int) -> timedelta:
    return timedelta(days=n)


def sign_in_noted(model: Any, at: Any) -> Model:
    more = {"failures_since_start": 1} if model is AccessAttempt else {}
    row: Model = model.objects.create(username=f"{at}@example.com", ip_address="192.0.2.1", **more)
    model.objects.filter(pk=row.pk).update(attempt_time=at)
    return row


def mail(site: Site, settled_at: Any, state: SendState = SendState.SENT) -> Mail:
    return Mail.objects.create(
        site=site, kind=Mail.Kind.ALERT, key=f"{state} {settled_at}", address="x@example.com", owed_at=b.MONDAY,
        next_try_at=b.MONDAY, state=state, settled_at=settled_at,
    )  # fmt: skip


def message(hook: Webhook, settled_at: Any) -> WebhookMessage:
    return WebhookMessage.objects.create(
        site=hook.site, webhook=hook, event="test", happened_at=b.MONDAY, data={}, owed_at=b.MONDAY,
        next_try_at=b.MONDAY, settled_at=settled_at, state=SendState.SENT if settled_at else SendState.WAITING,
    )  # fmt: skip


def invitation(site: Site, expires_at: Any, **more: Any) -> Invitation:
    boss = b.supervisor(site)
    n = Invitation.objects.count()
    return Invitation.objects.create(
        site=site, email=f"asked{n}@example.com", company=b.company(), role=Role.CREW, token_digest=str(n),
        made_by=boss, made_at=b.MONDAY, expires_at=expires_at, **more,
    )  # fmt: skip


def code(site: Site, expires_at: Any, **more: Any) -> EnrolmentCode:
    boss = b.supervisor(site)
    n = EnrolmentCode.objects.count()
    return EnrolmentCode.objects.create(
        site=site, person=boss, made_by=boss, code_digest=str(n), expires_at=expires_at, **more
    )


def signed_in(site: Site, began_at: Any) -> SignedIn:
    return SignedIn.objects.create(
        person=b.supervisor(site), session_key=str(began_at), began_at=began_at, seen_at=began_at
    )


def plan_draft(site: Site, code_: str, dropped_at: Any) -> PlanDraft:
    return PlanDraft.objects.create(
        site=site, code=code_, base=site.plans.first(), document={}, changed_at=b.MONDAY,
        changed_by=b.supervisor(site), dropped_at=dropped_at,
    )  # fmt: skip


def held(site: Site, made_at: Any) -> IntakeDraft:
    return hold_file(
        site=site, upload=ContentFile(b"number\n1\n"), name="list.csv", who=b.supervisor(site), now=made_at
    )


@pytest.fixture
def site(settings: Any, tmp_path: Any) -> Site:
    settings.MEDIA_ROOT = tmp_path
    return b.site()


def test_each_kind_goes_after_its_time_and_not_an_hour_before(site: Site, django_capture_on_commit_callbacks: Any):
    hook = Webhook.objects.create(
        site=site, url="https://example.com/", events=[], made_at=b.MONDAY, made_by=b.supervisor(site)
    )
    phone, _token = b.device(site, b.supervisor(site))
    goes: list[Model] = []
    stays: list[Model] = []
    for pile, off in ((goes, -HOUR), (stays, HOUR)):
        pile += [
            Session.objects.create(session_key=str(off), session_data="", expire_date=NOW + off),
            signed_in(site, NOW - days(14) + off),  # Django's own SESSION_COOKIE_AGE: two weeks
            *(sign_in_noted(model, NOW - days(30) + off) for model in (AccessAttempt, AccessFailureLog, AccessLog)),
            FailedTry.objects.create(subject="x", at=NOW - days(30) + off),
            mail(site, NOW - days(60) + off),
            message(hook, NOW - days(60) + off),
            held(site, NOW - days(30) + off),
            plan_draft(site, str(off), NOW - days(30) + off),
            invitation(site, NOW - days(30) + off),
            code(site, NOW - days(30) + off),
        ]
    stays += [
        mail(site, None, SendState.WAITING),
        message(hook, None),
        plan_draft(site, "being drawn", None),
        invitation(site, b.MONDAY, taken_at=b.MONDAY),
        code(site, b.MONDAY, device=phone),
    ]
    file = next(row for row in goes if isinstance(row, IntakeDraft)).file
    assert set(count_old(now=NOW).values()) == {1}
    with django_capture_on_commit_callbacks(execute=True):
        removed = tidy(now=NOW)
    assert set(removed.values()) == {1}
    assert len(removed) == len(goes)
    assert not file.storage.exists(file.name), "the file goes with its row"
    for row in goes:
        assert not type(row).objects.filter(pk=row.pk).exists(), row  # type: ignore[attr-defined]
    for row in stays:
        assert type(row).objects.filter(pk=row.pk).exists(), row  # type: ignore[attr-defined]
    assert set(tidy(now=NOW).values()) == {0}, "twice is harmless"


def test_the_settings_say_how_long(site: Site, settings: Any) -> None:
    kept = mail(site, NOW - days(10))
    tidy(now=NOW)
    settings.KEEP_SENT_DAYS = 9
    assert tidy(now=NOW)["mails settled"] == 1
    assert not Mail.objects.filter(pk=kept.pk).exists()


def test_the_record_is_not_among_what_goes(site: Site) -> None:
    """Every table of ours either is named as having an end, or keeps all its rows a hundred years on."""
    opening = b.opening(site)
    b.work_up_to(opening, "recheck")
    b.check_in(b.supervisor(site), opening, "receive", "hold", note="bent", at=b.MONDAY + days(1))
    ends = {kind.found.model for kind in kinds(NOW)}
    ours = [m for m in apps.get_models() if m.__module__.split(".")[0] in {"sitetrack", "openings", "inspections"}]
    before = {m: m._default_manager.count() for m in ours if m not in ends}
    tidy(now=NOW + days(36_500))
    assert {m: m._default_manager.count() for m in before} == before
    named = {m.__name__ for m in ends}
    assert not named & {"CheckIn", "SealedEntry", "RecordedChange", "Photo", "CheckInPhoto", "SignOff", "FrameCheck"}
    assert sum(before.values()) > 50


def test_many_go_in_batches(site: Site, django_assert_max_num_queries: Any) -> None:
    FailedTry.objects.bulk_create(FailedTry(subject="x", at=b.MONDAY) for _ in range(1200))
    with django_assert_max_num_queries(40):
        assert tidy(now=NOW)["tries counted"] == 1200


def test_the_command_looks_first_where_asked_to(site: Site) -> None:
    mail(site, b.MONDAY)
    said = StringIO()
    call_command("tidy", "--dry-run", stdout=said)
    assert Mail.objects.count() == 1
    assert "1  mails settled" in said.getvalue()
    assert said.getvalue().endswith("Nothing was removed.\n")
    call_command("tidy", stdout=StringIO())
    assert Mail.objects.count() == 0
