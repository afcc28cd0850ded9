"""Sheet F-11: items that name what the site does not have; a supervisor places each or discards it with a reason."""

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from inspections.models import KeptAside
from inspections.selectors.stages import StageWords, site_stages
from inspections.sync.kept_aside import (
    LONGEST_REASON,
    discard_kept_aside,
    place_kept_aside,
    take_back_discarding,
)
from inspections.tasks import raise_alerts, work_out_readiness
from openings.models import Opening
from sitetrack.desk.setup import KEPT_ASIDE, is_supervisor
from sitetrack.desk.sheets import Desk, draw, site_page
from sitetrack.desk.told import Undo, told, undone
from sitetrack.kit.jobs import enqueue
from sitetrack.kit.problems import Problem

MOST_ON_PAGE = 50
SETTLED_SHOWN = 20
SHOWN = 400  # characters of anything a phone sent


@require_safe
@site_page
def kept_aside(request: HttpRequest, desk: Desk) -> HttpResponse:
    """What waits to be placed, oldest first, and what was settled last."""
    return _page(request, desk)


@require_POST
@site_page
def place(request: HttpRequest, desk: Desk, item_id: UUID) -> HttpResponse:
    """Say which opening and stage an item belongs to."""
    item = _item(desk, item_id)
    number, stage = request.POST.get("opening", "").strip()[:40], request.POST.get("stage", "")[:40]
    given = {"id": item_id, "opening": number, "stage": stage}
    opening = Opening.objects.visible_to(desk.person).filter(site=desk.site, number__iexact=number).first()
    if opening is None:
        sentence = _("The site has no opening %(number)s.") % {"number": number or "?"}
        return _page(request, desk, refused=given | {"sentence": sentence}, status=422)
    try:
        check_in = place_kept_aside(item=item, opening=opening, stage=stage, who=desk.person, now=desk.now)
    except Problem as problem:
        return _page(request, desk, refused=given | {"sentence": problem.detail}, status=problem.status)
    enqueue(work_out_readiness, [str(check_in.opening_id)])
    enqueue(raise_alerts)
    messages.success(request, _("Placed at %(number)s; it counts as of when it happened.") % {"number": opening.number})
    return redirect("setup:kept-aside", code=desk.site.code)


@require_POST
@site_page
def discard(request: HttpRequest, desk: Desk, item_id: UUID) -> HttpResponse:
    """Say that an item counts for nothing, and why."""
    item, why = _item(desk, item_id), request.POST.get("why", "")
    try:
        discard_kept_aside(item=item, who=desk.person, why=why, now=desk.now)
    except Problem as problem:
        refused = {"id": item_id, "why": why[:LONGEST_REASON], "sentence": problem.detail}
        return _page(request, desk, refused=refused, status=problem.status)
    enqueue(raise_alerts)
    undo = Undo(reverse("setup:kept-aside-restore", args=[desk.site.code, item.pk]))
    told(request, _("Discarded, and kept on record with your reason."), undo=undo)
    return redirect("setup:kept-aside", code=desk.site.code)


@require_POST
@site_page
def restore(request: HttpRequest, desk: Desk, item_id: UUID) -> HttpResponse:
    """Undo: let a discarded item wait again."""
    item = _item(desk, item_id)
    answer = undone(
        request,
        lambda: take_back_discarding(item=item, who=desk.person, now=desk.now),
        said=_("It waits again to be placed."),
        back=reverse("setup:kept-aside", args=[desk.site.code]),
    )
    enqueue(raise_alerts)
    return answer


def _item(desk: Desk, item_id: UUID) -> KeptAside:
    item: KeptAside = get_object_or_404(KeptAside.objects.visible_to(desk.person).filter(site=desk.site), pk=item_id)
    return item


def _page(
    request: HttpRequest, desk: Desk, *, refused: dict[str, Any] | None = None, status: int = 200
) -> HttpResponse:
    if not is_supervisor(desk):
        raise Http404("Set-up is the supervisor's.")
    items = (
        KeptAside.objects.visible_to(desk.person)
        .filter(site=desk.site)
        .select_related("person", "company", "device", "settled_by")
    )
    waiting = items.filter(settled="").order_by("received_at", "id")
    stages = site_stages(desk.site, desk.person)
    context = {
        "stages": stages,
        "lines": [_line(item, stages, refused) for item in waiting[:MOST_ON_PAGE]],
        "in_all": waiting.count(),
        "settled": items.exclude(settled="").order_by("-settled_at")[:SETTLED_SHOWN],
        "most": MOST_ON_PAGE,
        "longest": LONGEST_REASON,
    }
    return draw(request, desk, KEPT_ASIDE, "desk/kept_aside.html", context, status=status)


def _line(item: KeptAside, stages: dict[str, StageWords], refused: dict[str, Any] | None) -> dict[str, Any]:
    sent = item.payload
    given = refused if refused and refused["id"] == item.pk else {}
    return {
        "item": item,
        "number": _text(sent.get("opening")),
        "stage": _text(sent.get("stage")),
        "stage_words": stages.get(_text(sent.get("stage"))),
        "action": _text(sent.get("action")),
        "note": _text(sent.get("note")),
        "readings": [(_text(name), _text(value)) for name, value in (sent.get("readings") or {}).items()],
        "photos": len(sent.get("photos") or ()),
        "opening_given": given.get("opening", _text(sent.get("opening"))),
        "stage_given": given.get("stage", _text(sent.get("stage"))),
        "why_given": given.get("why", ""),
        "sentence": given.get("sentence", ""),
        "discarding": "why" in given,
    }


def _text(value: Any) -> str:
    return "" if value is None else str(value)[:SHOWN]
