"""Every address of the browser's pages, for the tests that walk them all: policy, access, looks, pictures.

Whoever adds a route adds its line here; `test_every_page.py` compares the table with the routes there are.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from django.core.files.base import ContentFile
from django.urls import URLPattern, URLResolver, reverse

from inspections.models import Alert, KeptAside, Mail, WebhookMessage
from inspections.services.mutes import lift_mute, mute
from inspections.services.webhooks import add_webhook, owe_test, stop_webhook
from inspections.sync.push import Push, push
from openings.models import IntakeDraft, Opening, OpeningList, ScheduleRevision, Site
from openings.services.drafts import hold_file
from openings.services.lists import make_list
from sitetrack.access.models import Membership, Person
from sitetrack.access.roles import Role, Trade
from sitetrack.kit.clock import now as read_clock
from tests import builders as make
from tests.desk.looking import signed_in
from tests.openings.intake import sheets


@dataclass(frozen=True)
class Job:
    """A job with something of everything."""

    site: Site
    chief: Person
    opening: Opening
    draft: IntakeDraft
    revision: ScheduleRevision
    stray: KeptAside
    alert: Alert

    @property
    def standing(self) -> Membership:
        """What one of its crew is there."""
        return Membership.objects.filter(site=self.site, role=Role.CREW, ended_at=None).order_by("pk")[0]

    @property
    def listed(self) -> OpeningList:
        """Openings picked for one errand."""
        return OpeningList.objects.get(site=self.site)

    def url(self, name: str, *more: Any) -> str:
        """The address of one of the site's pages."""
        return reverse(name, args=[self.site.code, *more])


def a_job_with_everything(site: Site, folder: Path) -> Job:
    """Openings in every state, an alert, holds, something kept aside, a revision taken in and a file held."""
    chief = make.supervisor(site)
    crew, drywall = make.crew(site), make.crew(site, Trade.DRYWALL)
    here = make.opening(site, "B1-204", walk=2, room_from="Corridor 2", rating_minutes=45, electrified=False)
    make.work_up_to(here, "anchor")
    make.check_in(drywall, here, "board", "finish", at=make.MONDAY + make.DAY)
    make.frame_check(crew, here, readings=make.TWISTED_READINGS, at=make.MONDAY + make.DAY * 2)
    for walk, last in ((1, "receive"), (3, "board"), (4, "final"), (6, "anchor")):
        make.work_up_to(make.opening(site, f"B1-21{walk}", walk=walk, room_from="Corridor 2"), last)
    held = make.opening(site, "B1-205", walk=5, x=1.0, y=2.0)
    make.check_in(crew, held, "receive", "hold", note="Wrong hand delivered.")
    stray = make.push_item(here, "trueness", opening="B1-2041", note="north stack", readings=make.TWISTED_READINGS)
    push(batch=Push(crew, None, make.MONDAY, [stray]), now=make.MONDAY)
    make.device(site, crew)
    make_list(site=site, picked=[here.pk, held.pk], who=chief, now=make.MONDAY)
    drawn = _schedules(site, chief, folder)
    alert = _mutes(site, chief, here, held)  # after the last that works openings out, which would close it
    _outside(site, chief)
    return Job(site, chief, here, *drawn, KeptAside.objects.get(site=site), alert)


def _mutes(site: Site, chief: Person, here: Opening, held: Opening) -> Alert:
    """One that holds over an alert and one that was lifted; gives the alert of another rule, open to being muted."""
    now = read_clock()
    given = {"site": site, "rule": "order-uncertain", "who": chief, "until": now + make.DAY * 5}
    mute(area=held, reason="Two crews asked; the answer comes on Thursday.", now=now, **given)
    lift_mute(mute=mute(area=here.floor, reason="Asked.", now=now - make.DAY, **given), who=chief, now=now)
    make.alert(held, "order-uncertain", severity="notice")
    return Alert.objects.filter(site=site, opening=here).order_by("pk")[0]


def _outside(site: Site, chief: Person) -> None:
    """A webhook with a message of every kind of end, one stopped, and mails that did not go."""
    now, events = read_clock(), ["alert.raised", "alert.closed"]
    hook, _secret = add_webhook(
        site=site, url="https://hooks.example/frames/of/the/clinic", events=events, who=chief, now=now
    )
    ends = (("sent", "", 204), ("failed", "answered 410", 410), ("waiting", "hooks.example: no answer in time", None))
    for state, error, status in ends:
        owed = owe_test(webhook=hook, who=chief, now=now)
        settled = None if state == "waiting" else now
        WebhookMessage.objects.filter(pk=owed.pk).update(
            state=state, error=error, status=status, took_ms=status and 42, tries=3, settled_at=settled
        )
    away, _secret = add_webhook(site=site, url="https://old.example/", events=events, who=chief, now=now)
    stop_webhook(webhook=away, who=chief, now=now)
    for state in ("waiting", "failed"):
        Mail.objects.create(
            site=site, kind="alert", key=f"{state}:{site.pk}", address=chief.email, person=chief, owed_at=now,
            next_try_at=now, tries=2, state=state, settled_at=now if state == "failed" else None, error="550 no box",
        )  # fmt: skip


def _schedules(site: Site, chief: Person, folder: Path) -> tuple[IntakeDraft, ScheduleRevision]:
    path = sheets.xlsx(folder / "doors.xlsx", sheets.PLAIN)
    desk = signed_in(chief)
    with path.open("rb") as upload:
        page = desk.post(reverse("desk:schedule", args=[site.code]), {"file": upload}, follow=True)
    draft = IntakeDraft.objects.get(site=site)
    based_on = {"based_on": page.context["preview"].based_on}
    desk.post(reverse("desk:schedule-take-in", args=[site.code, draft.pk]), based_on)
    desk.get(reverse("desk:today", args=[site.code]))  # what was told is told now, not on the page under test
    held = ContentFile(path.read_bytes(), name=path.name)
    draft = hold_file(site=site, upload=held, name=path.name, who=chief, now=make.MONDAY)
    return draft, ScheduleRevision.objects.get(site=site)


def _plain(*names: str) -> dict[str, Callable[[Job], list[str]]]:
    return {name: lambda job, name=name: [job.url(name)] for name in names}


# Pages, each with what is asked of it: by route, the addresses to look at.
PAGES: dict[str, Callable[[Job], list[str]]] = {
    "desk:keys": lambda job: ["/keys"],
    "desk:sites": lambda job: ["/?all"],
    "desk:sign-in": lambda job: [],  # whoever is signed in is sent on; the walk looks at it signed out
    "desk:sign-in-code": lambda job: [],  # only after a password
    "desk:account": lambda job: ["/account"],
    "desk:codes": lambda job: ["/account/codes"],
    "desk:forgotten": lambda job: ["/sign-in/forgotten"],
    "desk:new-password": lambda job: [],  # by a link from a mail only
    "desk:invited": lambda job: [],
    "setup:companies": lambda job: [job.url("setup:companies")],
    "setup:people": lambda job: [job.url("setup:people")],
    "setup:person": lambda job: [job.url("setup:person", job.standing.pk)],
    "setup:person-remove": lambda job: [job.url("setup:person-remove", job.standing.pk)],
    "setup:changes": lambda job: [job.url("setup:changes")],
    "desk:readings": lambda job: ["/readings"],
    "setup:signing-code": lambda job: ["/signing-code"],
    **_plain(
        "desk:today", "desk:kit", "desk:drift", "desk:progress", "desk:tolerances", "desk:schedule", "desk:weekly"
    ),
    **_plain("desk:site-readings", "setup:phones", "setup:kept-aside", "labels:choose"),
    **_plain("setup:mailing", "desk:evidence"),
    "desk:find": lambda job: [job.url("desk:find") + "?number=B1"],
    "desk:floors": lambda job: [job.url("desk:floors")],
    "desk:floor": lambda job: [job.url("desk:floor", job.opening.floor_id) + q for q in ("", "?as=list")],
    "desk:takeoff": lambda job: [job.url("desk:takeoff", job.opening.number)],
    "desk:opening-readings": lambda job: [job.url("desk:opening-readings", job.opening.number)],
    "desk:opening": lambda job: [
        job.url("desk:opening", job.opening.number) + q
        for q in ("", "?do=finish&stage=trueness", "?do=hold&stage=set", "?do=note&stage=set")
    ],
    "desk:alerts": lambda job: [
        job.url("desk:alerts") + q
        for q in ("", "?show=muted", "?show=closed", "?by=floor", "?by=weight&rule=order-uncertain")
    ],
    "desk:mute": lambda job: [job.url("desk:mute", job.alert.pk)],
    **_plain("desk:mutes", "desk:alert-mail", "setup:webhooks"),
    "desk:schedule-draft": lambda job: [job.url("desk:schedule-draft", job.draft.pk)],
    **_plain("desk:schedule-by-hand", "desk:schedule-compare", "desk:schedule-openings", "desk:schedule-add"),
    "desk:opening-edit": lambda job: [job.url("desk:opening-edit", job.opening.number)],
    "desk:floor-plan": lambda job: [
        job.url("desk:floor-plan", job.opening.floor_id) + q for q in ("", "?step=positions")
    ],
    "desk:list": lambda job: [job.url("desk:list", job.listed.pk)],
    "desk:list-order": lambda job: [job.url("desk:list-order", job.listed.pk)],
    "setup:new-site": lambda job: [],  # for those who keep the server; its own tests look at it
    "setup:places": lambda job: [job.url("setup:places")],
    "setup:site": lambda job: [job.url("setup:site")],
    "setup:plans": lambda job: [job.url("setup:plans")],
    "setup:plan": lambda job: [job.url("setup:plan", job.opening.plan.code)],
    "setup:plan-draft": lambda job: [],  # its own tests begin a draft
    "setup:plan-preview": lambda job: [],
    "desk:schedule-revision": lambda job: [job.url("desk:schedule-revision", job.revision.n)],
}
# What answers to POST only.
ACTIONS = {
    "desk:acknowledge-chosen", "desk:unacknowledge-chosen", "desk:mute-lift", "desk:mute-back", "desk:mail-again",
    "setup:webhook-secret", "setup:webhook-stop", "setup:webhook-test", "setup:webhook-again",
    "desk:seen", "desk:unseen", "desk:forecast-again", "desk:weekly-issue",
    "desk:opening-listed", "desk:schedule-edit-undo", "desk:floor-pick", "desk:floor-positions",
    "desk:floor-positions-back", "desk:floor-plan-send", "desk:floor-plan-page", "desk:floor-plan-scale",
    "desk:floor-plan-away", "desk:floor-plan-back",
    "desk:check-in-undo", "setup:place-remove",
    "setup:building", "setup:building-new", "setup:floor", "setup:floor-new",
    "setup:plan-begin", "setup:plan-drop", "setup:plan-install", "setup:plan-remove",
    "setup:plan-restore", "setup:plan-undo",
    "setup:mailing-remove", "setup:mailing-restore",
    "setup:person-invite", "setup:invitation-again", "setup:invitation-withdraw",
    "desk:change-password", "desk:codes-off", "desk:recovery-codes", "desk:end-session", "desk:end-other-sessions",
    "desk:sign-out", "desk:acknowledge", "desk:unacknowledge", "desk:close", "desk:reopen", "desk:schedule-take-in",
    "desk:schedule-let-go", "desk:schedule-hold-again", "setup:phone-code", "setup:phone-stop",
    "setup:company", "setup:company-new", "setup:company-remove",
    "setup:kept-aside-place", "setup:kept-aside-discard", "setup:kept-aside-restore", "reports:calendar-key",
}  # fmt: skip
# What answers with a file or with figures.
FILES = {
    "desk:floor-picture", "desk:photo", "desk:photo-small", "desk:photo-full",
    "setup:changes-csv", "admin-door",
    "desk:kit-csv", "desk:schedule-progress", "labels:print", "reports:weekly-xlsx", "reports:weekly-csv",
    "reports:weekly-json", "reports:weekly-letter", "reports:weekly-a4", "reports:weekly-pdf", "reports:made",
    "reports:components", "reports:calendar", "reports:evidence-pdf", "reports:evidence-json",
    "reports:components-csv", "reports:offline-verify",
}  # fmt: skip
# Tested with the phone, the API and the admin.
ELSEWHERE = {"field", "api", "admin"}


def routes(patterns: Any, space: str = "") -> Iterator[str]:
    """The names of all routes, with their name space in front."""
    for each in patterns:
        if isinstance(each, URLResolver) and each.namespace not in ELSEWHERE:
            yield from routes(each.url_patterns, f"{each.namespace}:" if each.namespace else space)
        elif isinstance(each, URLPattern):
            yield f"{space}{each.name}"


def pages(job: Job) -> list[str]:
    """The address of every page."""
    return [address for addresses in PAGES.values() for address in addresses(job)]
