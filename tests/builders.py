"""Builders: each makes a valid thing of the trade in one line; what a test is about, it says itself.

Every name is invented. Times are arguments; where a test does not care, MONDAY is when it happened.
"""

import itertools
from collections.abc import Iterable
from copy import deepcopy
from datetime import UTC, datetime, timedelta
from typing import Any
from uuid import UUID

from django.db import transaction
from rest_framework.test import APIClient

from inspections.models import Alert, CheckIn, Mute, Progress, Webhook, WebhookMessage
from inspections.services.check_ins import content_digest, record_check_ins
from inspections.services.mutes import mute
from inspections.services.reports import ItemResult, Report, Sender
from inspections.services.webhooks import add_webhook, owe_test
from inspections.services.work_out import work_out
from openings.models import Building, Floor, Opening, SequencePlan, Site, WallType
from openings.services.changes import next_numbers
from openings.services.plans import install_plan
from openings.services.sites import open_site
from sitetrack.access.models import Company, Device, Membership, Person
from sitetrack.access.roles import Role, Trade
from sitetrack.access.scope import membership_of
from sitetrack.access.services.enrolment import issue_token
from sitetrack.kit.clock import now as read_clock
from sitetrack.kit.clock import rfc3339
from sitetrack.kit.ids import new_id
from sitetrack.kit.lengths import parse_length

MONDAY = datetime(2026, 3, 2, 14, 0, tzinfo=UTC)  # Monday of ISO week 2026-W10, 8 in the morning in Chicago
MINUTE = timedelta(minutes=1)
DAY = timedelta(days=1)

# A frame that is exactly true, in an opening 3'-0" wide.
TRUE_READINGS = {
    "width_head": "36",
    "width_mid": "36",
    "width_floor": "36",
    "hinge_plumb_side": "0",
    "hinge_plumb_face": "0",
    "strike_plumb_side": "0",
    "strike_plumb_face": "0",
    "squareness": "0",
    "alignment": "0",
    "twist": "0",
}
# The same with the strike jamb 3/16 in out of twist: three times what the publication allows.
TWISTED_READINGS = TRUE_READINGS | {"twist": "3/16"}
TRUENESS_ANSWERS = {"spreaders_in": True, "frame_undented": True, "inspected_in_wall": True}
MATCH_ANSWERS = {"number": True, "hand": True, "size": True, "reinforcement": True, "label": True}

_count = itertools.count(1)


def company(name: str = "") -> Company:
    """A company, of its own name unless one is given."""
    return Company.objects.create(name=name or f"Company {next(_count)}")


def person(name: str = "", *, password: str | None = None, **fields: Any) -> Person:
    """Someone without any role yet; signs in only where a password is given."""
    n = next(_count)
    return Person.objects.create_user(f"person{n}@example.com", password, name=name or f"Person {n}", **fields)


def site(code: str = "", *, who: Person | None = None, now: datetime = MONDAY, **settled: Any) -> Site:
    """A site with the shipped plans and its first supervisor, who is `who` or someone new."""
    code = code or f"site-{next(_count)}"
    return open_site(code=code, name=f"Site {code}", supervisor=who or person(), company=company(), now=now, **settled)


def supervisor(of: Site) -> Person:
    """The site's first supervisor."""
    standing = Membership.objects.filter(site=of, role=Role.SUPERVISOR, ended_at=None)
    return standing.select_related("person").order_by("id")[0].person


def member(of: Site, role: str, *, company_: Company | None = None, trades: Iterable[str] = ()) -> Person:
    """Someone new with this role on the site, for a company of their own unless one is given."""
    someone = person()
    Membership.objects.create(
        site=of, person=someone, company=company_ or company(), role=role, trades=list(trades), began_at=MONDAY
    )
    return someone


def crew(of: Site, *trades: str, company_: Company | None = None) -> Person:
    """A hand of a subcontractor; of the frame crew unless trades are given."""
    return member(of, Role.CREW, company_=company_, trades=trades or (Trade.FRAME_CREW,))


def inspector(of: Site) -> Person:
    """An inspector of the site."""
    return member(of, Role.INSPECTOR, trades=(Trade.INSPECTOR,))


def viewer(of: Site) -> Person:
    """Someone who may look."""
    return member(of, Role.VIEWER)


def device(
    of: Site, whose: Person, *, kind: str = Device.Kind.PHONE, now: datetime | None = None
) -> tuple[Device, str]:
    """A phone and its token, enrolled just now by the server's own clock, which is what a token's life is judged by."""
    name = f"phone {next(_count)}"
    return issue_token(site_id=of.pk, person=whose, name=name, kind=kind, now=now or read_clock())


def building(of: Site, code: str = "A") -> Building:
    """The building of that code; made when there is none."""
    return Building.objects.get_or_create(site=of, code=code)[0]


def floor(of: Site, code: str = "L1", *, level: int = 1, in_building: str = "A", **fields: Any) -> Floor:
    """The floor of that code; made when there is none."""
    house = building(of, in_building)
    return Floor.objects.get_or_create(site=of, building=house, code=code, defaults={"level": level, **fields})[0]


def wall(of: Site, code: str = "W1", **fields: Any) -> WallType:
    """A steel stud wall with one layer of board on each side, unless told otherwise."""
    given = {"kind": "steel_stud", "stud": parse_length("3 5/8"), "boards_pull": ["5/8"], "boards_push": ["5/8"]}
    return WallType.objects.get_or_create(site=of, code=code, defaults=given | fields)[0]


def opening(of: Site, number: str = "", *, on: Floor | None = None, plan: str = "steel_stud", **fields: Any) -> Opening:
    """An opening of 3'-0" by 7'-0" in a stud wall, welded frame, not rated, not electrified, bare slab."""
    given = {
        "mark": "F1",
        "width": parse_length("3'-0\""),
        "height": parse_length("7'-0\""),
        "size_is": Opening.SizeIs.OPENING,
        "leaves": 1,
        "construction": Opening.Construction.WELDED,
        "hand": Opening.Hand.RH,
        "jamb_depth": parse_length("5 3/4"),
        "wall": fields.get("wall") or wall(of),
        "rating_minutes": 0,
        "electrified": False,
        "covering_thickness": parse_length("0"),
        "changed_at": MONDAY,
    }
    with transaction.atomic():
        return Opening.objects.create(
            site=of,
            floor=on or floor(of),
            number=number or f"1{next(_count):03}",
            plan=of.plans.get(code=plan, current=True),
            seq=next_numbers(of.pk, 1)[0],
            **{**given, **fields},
        )


def openings(of: Site, count: int, **fields: Any) -> list[Opening]:
    """So many openings on one floor."""
    return [opening(of, **fields) for _ in range(count)]


def push_item(of: Opening, stage: str = "receive", action: str = "finish", **members: Any) -> dict[str, Any]:
    """One item of a push, as a phone sends it. `members` are set as given, and left out where they are None."""
    item = {
        "id": str(new_id()),
        "site": str(of.site_id),
        "opening": of.number,
        "stage": stage,
        "action": action,
        "happened_at": rfc3339(MONDAY),
        **{name: str(value) if isinstance(value, UUID) else value for name, value in members.items()},
    }
    return {name: value for name, value in item.items() if value is not None}


def batch(*items: Any, device_time: datetime | None = MONDAY) -> dict[str, Any]:
    """The body of a push."""
    return {"device_time": rfc3339(device_time) if device_time else None, "check_ins": list(items)}


def report(
    of: Opening, stage: str = "receive", action: str = "finish", *, at: datetime = MONDAY, **more: Any
) -> Report:
    """One well-formed report, as the service that stores it takes it."""
    id_ = more.pop("id", None) or new_id()
    raw = {"id": str(id_), "opening": of.number, "stage": stage, "action": action, "happened_at": rfc3339(at)}
    raw |= {name: str(value) if isinstance(value, UUID) else value for name, value in more.items()}
    return Report(
        id=id_,
        opening=of.number,
        stage=stage,
        action=action,
        happened_at=at,
        digest=content_digest(raw),
        raw=raw,
        **more,
    )


def record(
    who: Person, *reports: Report, of: Site, now: datetime | None = None, phone: Device | None = None
) -> list[ItemResult]:
    """Store reports and work their openings out, as the server does on a push."""
    membership = membership_of(who, of.pk)
    assert membership is not None, f"{who} has no role on {of}"
    now = now or max(r.happened_at for r in reports)
    results = record_check_ins(
        site=of, sender=Sender(who, membership, phone), reports=reports, device_time=now if phone else None, now=now
    )
    work_out(opening_ids=[r.opening_id for r in results if r.opening_id], now=now)
    return results


def check_in(who: Person, of: Opening, stage: str = "receive", action: str = "finish", **more: Any) -> CheckIn:
    """One stored check-in, worked out; fails the test where the server would have refused it."""
    now = more.pop("now", None)
    (result,) = record(who, report(of, stage, action, **more), of=of.site, now=now)
    assert result.outcome == "stored", result
    return CheckIn.objects.get(pk=result.id)


def frame_check(who: Person, of: Opening, stage: str = "trueness", **more: Any) -> CheckIn:
    """A reading that passes, unless other readings or answers are given."""
    more = {"readings": TRUE_READINGS, "answers": TRUENESS_ANSWERS} | more
    return check_in(who, of, stage, "finish", **more)


def sign_off(who: Person, reading: CheckIn, **more: Any) -> CheckIn:
    """A signature on a reading."""
    return check_in(who, reading.opening, reading.stage, "sign", about=reading.pk, **more)


def work_up_to(of: Opening, last: str, *, at: datetime = MONDAY, gap: timedelta = MINUTE * 30) -> datetime:
    """Finish and sign every needed stage through `last` in plan order, by supervisors; returns the last's time."""
    who, signer = supervisor(of.site), None
    work_out(opening_ids=[of.pk], now=at)
    needed = Progress.objects.get(pk=of.pk).state["stages"]
    for stage in of.plan.stages:
        if needed[stage["code"]]["state"] == "not needed":
            continue
        extra: dict[str, Any] = {}
        if stage.get("kind") == "check":
            extra["answers"] = {q["code"]: q.get("expect", True) for q in stage.get("checklist", ())}
            extra["readings"] = {name: TRUE_READINGS[name] for name in stage.get("required_readings", ())}
        (result,) = record(who, report(of, stage["code"], "finish", at=at, **extra), of=of.site)
        assert result.outcome == "stored", result
        if stage.get("sign_roles"):
            signer = signer or member(of.site, Role.SUPERVISOR)
            at += MINUTE * 5
            record(signer, report(of, stage["code"], "sign", at=at, about=UUID(result.id)), of=of.site)
        if stage["code"] == last:
            break
        at += gap
    return at


def rename_stages(of: Site, plan: str = "steel_stud", prefix: str = "our_") -> SequencePlan:
    """The plan's next version, the same but for the codes of its stages, which no rule or drawing may go by."""
    before = of.plans.get(code=plan, current=True)
    stages = deepcopy(before.stages)
    for stage in stages:
        stage["code"] = prefix + stage["code"]
        for named in ("after", "covers"):
            stage[named] = [prefix + code for code in stage.get(named, ())]
    document = {"code": plan, "name": before.name, "wall_kind": before.wall_kind, "stages": stages}
    return install_plan(site=of, document=document, now=MONDAY)


def alert(of: Opening, rule: str = "boarded-before-checked", **fields: Any) -> Alert:
    """An open alert of an opening."""
    given = {"cause": f"cause {next(_count)}", "severity": "critical", "opened_at": MONDAY, "happened_at": MONDAY}
    return Alert.objects.create(site=of.site, opening=of, rule=rule, **{**given, **fields})


def muted(of: Opening, rule: str = "order-uncertain", **more: Any) -> Mute:
    """A mute of a rule at an opening, by the site's supervisor; until tomorrow by the server's own clock."""
    now = more.pop("now", None) or read_clock()
    given = {"area": of, "until": now + DAY, "reason": "known", "who": supervisor(of.site), **more}
    return mute(site=of.site, rule=rule, now=now, **given)


def webhook(of: Site, *, url: str = "https://hooks.example/frames") -> tuple[Webhook, WebhookMessage]:
    """A webhook of the site and a message owed to it, which nobody posts by itself."""
    who, now = supervisor(of), read_clock()
    made, _secret = add_webhook(site=of, url=url, events=["alert.raised"], who=who, now=now)
    return made, owe_test(webhook=made, who=who, now=now)


def client(who: Person | None = None, *, token: str = "") -> APIClient:
    """A client of the API: signed in as `who` on a page, or carrying a phone's token, or a stranger."""
    api = APIClient()
    if token:
        api.credentials(HTTP_AUTHORIZATION=f"Bearer {token}")
    elif who:
        api.force_login(who)
    return api
