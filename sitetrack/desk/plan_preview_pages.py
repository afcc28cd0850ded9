"""Sheet F-11: what a drawn plan would change on the real site, and making it the plan in force."""

from collections import Counter
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_POST, require_safe

from inspections.rules.table import TITLES
from inspections.services.plans import MOST_LOOKED_AT, PlanPreview, install, preview_draft
from inspections.tasks import raise_alerts, work_out_readiness
from openings.models import PlanDraft
from openings.sequence.checking import PlanError
from openings.sequence.plan_document import PlanSheet, read_sheet
from openings.services.plans import LONGEST_WHY, document_of
from sitetrack.desk.plan_pages import draft_of
from sitetrack.desk.plan_words import said
from sitetrack.desk.setup import PLANS
from sitetrack.desk.sheets import Desk, draw, site_page
from sitetrack.desk.told import told
from sitetrack.desk.words import word
from sitetrack.kit.jobs import enqueue
from sitetrack.kit.problems import Problem

CHUNK = 200
MOST_CHANGES = 60


@require_safe
@site_page
def preview(request: HttpRequest, desk: Desk, plan_code: str) -> HttpResponse:
    """Fold the site's openings by the draft and tell what would stand differently; changes nothing."""
    return _page(request, desk, draft_of(desk, plan_code))


@require_POST
@site_page
def install_drawn(request: HttpRequest, desk: Desk, plan_code: str) -> HttpResponse:
    """Make the draft the plan in force; the openings are worked out again after it is stored."""
    held = draft_of(desk, plan_code)
    based_on, why = request.POST.get("based_on", ""), request.POST.get("why", "")
    try:
        made, moved = install(
            draft=held,
            based_on=int(based_on) if based_on.isdecimal() and len(based_on) < 9 else 0,
            why=why,
            who=desk.person,
            now=desk.now,
        )
    except PlanError:
        return redirect("setup:plan-draft", code=desk.site.code, plan_code=plan_code)
    except Problem as problem:
        return _page(request, desk, held, why=why, refused=problem.detail, status=problem.status)
    for start in range(0, len(moved), CHUNK):
        enqueue(work_out_readiness, [str(pk) for pk in moved[start : start + CHUNK]])
    enqueue(raise_alerts)
    text = ngettext(
        "Version %(version)d is in force; %(n)d opening follows it.",
        "Version %(version)d is in force; %(n)d openings follow it.",
        len(moved),
    )
    told(request, text % {"version": made.version, "n": len(moved)})
    return redirect("setup:plan", code=desk.site.code, plan_code=plan_code)


def _page(
    request: HttpRequest, desk: Desk, held: PlanDraft, *, why: str = "", refused: str = "", status: int = 200
) -> HttpResponse:
    try:
        found = preview_draft(held, MOST_LOOKED_AT)
    except PlanError:
        return redirect("setup:plan-draft", code=desk.site.code, plan_code=held.code)
    sheet = read_sheet(held.document)
    titles = _titles(read_sheet(document_of(held.base))) | _titles(sheet)
    context = {
        "held": held,
        "name": said(sheet.name),
        "found": found,
        "unchanged": found.looked_at - found.changed,
        "changes": _changes(found, titles),
        "more_changes": max(0, len(found.changes) - MOST_CHANGES),
        "examples": [
            (moved.number, [(titles.get(code, code), _state(old), _state(new)) for code, old, new in moved.stages])
            for moved in found.examples
        ],
        "raised": _rules(found.raised),
        "closed": _rules(found.closed),
        "unused": [(titles.get(code, code), count) for code, count in found.unused.most_common()],
        "why": why,
        "longest": LONGEST_WHY,
        "refused": refused,
    }
    return draw(request, desk, PLANS, "desk/plan_preview.html", context, status=status)


def _titles(sheet: PlanSheet) -> dict[str, str]:
    return {stage.code: said(stage.title) for stage in sheet.stages}


def _state(state: str) -> str:
    return word("state", state) if state else _("not in the plan")


def _changes(found: PlanPreview, titles: dict[str, str]) -> list[tuple[str, str, str, int]]:
    """The changes by stage in plan order, the most frequent of each first."""
    order = {code: n for n, code in enumerate(titles)}
    ranked = sorted(found.changes.items(), key=lambda item: (order.get(item[0][0], -1), -item[1], item[0]))
    return [
        (titles.get(code, code), _state(old), _state(new), count) for (code, old, new), count in ranked[:MOST_CHANGES]
    ]


def _rules(counted: Counter[str]) -> list[tuple[Any, int]]:
    return [(TITLES[code], count) for code, count in counted.most_common()]
