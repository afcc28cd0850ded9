"""Sheet F-10: what this site's frames are judged by, where each limit comes from, and what other rules would ask."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import zip_longest
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from inspections.selectors.profiles import FrameSize, Version, common_sizes, versions_of
from inspections.services.profiles import profile_in_force, set_profile
from inspections.standards.anchors import Wall
from inspections.standards.clearances import GAP_RULES
from inspections.standards.limits import Limit
from inspections.trueness.anchors import count_by, rule_set_for, rule_sets_for
from inspections.trueness.profile import DEFAULT_PROFILE, ToleranceProfile
from sitetrack.access.roles import Role
from sitetrack.desk.sheets import TOLERANCES, Desk, draw, site_page
from sitetrack.desk.tolerances_form import TolerancesForm, limits_of, shown_limit, shown_settings
from sitetrack.kit.lengths import UnitSystem, format_length
from sitetrack.kit.problems import Problem


@dataclass(frozen=True, slots=True)
class LimitRow:
    """One limit as it stands: its value, where it comes from, and what is published where the site differs."""

    name: str
    text: str
    limit: Limit
    published: str
    field: Any


@dataclass(frozen=True, slots=True)
class GapRow:
    """One gap rule: its limits as text, empty where the publication sets none, and the sources they come from."""

    code: str
    least: str
    most: str
    meeting: str
    bottom: str
    sources: tuple[Limit, ...]
    chosen: bool


@dataclass(frozen=True, slots=True)
class AnchorRow:
    """Anchors per jamb for one size and wall of this site, by each rule set; None where it does not speak of it."""

    size: FrameSize
    height: str
    counts: tuple[tuple[str, int | None, bool], ...]


@require_http_methods(["GET", "HEAD", "POST"])
@site_page
def tolerances(request: HttpRequest, desk: Desk) -> HttpResponse:
    """The limits in force and their history; a POST by the supervisor makes the next version."""
    version, profile = profile_in_force(desk.site)
    form = TolerancesForm(request.POST or None, version=version, profile=profile)
    if request.method == "POST":
        if form.is_valid() and _changed(request, desk, form):
            return redirect("desk:tolerances", code=desk.site.code)
        return _page(request, desk, version, profile, form, status=422)
    return _page(request, desk, version, profile, form)


def _changed(request: HttpRequest, desk: Desk, form: TolerancesForm) -> bool:
    """Hand the changes to the service; its refusal goes onto the form, which keeps all that was typed."""
    before = form.initial["based_on"]
    try:
        made = set_profile(
            site=desk.site,
            changes=form.changes(),
            who=desk.person,
            now=desk.now,
            said_in=form.cleaned_data["said_in"],
            based_on=form.cleaned_data["based_on"] or None,
        )
    except Problem as problem:
        form.refuse(problem)
        return False
    if made.version > before + (before == 0):
        told = _("Version %(n)d judges from now on. Verdicts already given keep theirs.") % {"n": made.version}
    else:
        told = _("Nothing was changed.")
    messages.success(request, told)
    return True


def _page(
    request: HttpRequest,
    desk: Desk,
    version: int,
    profile: ToleranceProfile,
    form: TolerancesForm,
    *,
    status: int = 200,
) -> HttpResponse:
    may_set = desk.membership.role == Role.SUPERVISOR
    sizes = common_sizes(desk.site, desk.person)
    context = {
        "version": version,
        "profile": profile,
        "form": form if may_set else None,
        "refused": form.non_field_errors(),
        "limits": _limit_rows(profile, dict(form.limits()) if may_set else {}),
        "gap_rules": _gap_rows(profile),
        "rule_sets": tuple(rule_sets_for(Wall.STEEL_STUD)),
        "anchors": [_anchor_row(size, profile) for size in sizes],
        "versions": _told_versions(versions_of(desk.site, desk.person)),
    }
    return draw(request, desk, TOLERANCES, "desk/tolerances.html", context, status=status)


def _limit_rows(profile: ToleranceProfile, fields: dict[str, Any]) -> list[LimitRow]:
    published = limits_of(DEFAULT_PROFILE)
    return [
        LimitRow(
            name=name,
            text=shown_limit(limit, profile.units),
            limit=limit,
            published="" if limit == published[name] else shown_limit(published[name], profile.units),
            field=fields.get(name),
        )
        for name, limit in limits_of(profile).items()
    ]


def _gap_rows(profile: ToleranceProfile) -> list[GapRow]:
    def text(limit: Limit | None) -> str:
        return "" if limit is None else shown_limit(limit, profile.units)

    rows = []
    for rule in GAP_RULES.values():
        limits = [limit for limit in (rule.least, rule.most, rule.bottom_most) if limit is not None]
        rows.append(
            GapRow(
                code=rule.code,
                least=text(rule.least),
                most=text(rule.most),
                meeting=text(rule.meeting_most),
                bottom=text(rule.bottom_most),
                sources=tuple({(limit.source, limit.edition): limit for limit in limits}.values()),
                chosen=rule.code == profile.gap_rule,
            )
        )
    return rows


def _anchor_row(size: FrameSize, profile: ToleranceProfile) -> AnchorRow:
    speaking = rule_sets_for(Wall(size.wall))
    chosen = rule_set_for(Wall(size.wall), profile.anchor_rule_set)
    counts = tuple(
        (code, count_by(speaking[code], size.height) if code in speaking else None, code == chosen)
        for code in rule_sets_for(Wall.STEEL_STUD)
    )
    return AnchorRow(size, _height(size, profile.units), counts)


def _height(size: FrameSize, units: UnitSystem) -> str:
    return format_length(size.height, units=units, feet=units == "imperial")


def _told_versions(versions: Sequence[Version]) -> list[tuple[Version, list[tuple[str, str, str]]]]:
    """Each version, the latest first, with the settings that it changed: name, before, after."""
    told = []
    for made, before in zip_longest(versions, versions[1:]):
        changed: list[tuple[str, str, str]] = []
        if before is not None:
            old, new = (shown_settings(ToleranceProfile.from_dict(each.data)) for each in (before, made))
            changed = [(name, old[name], text) for name, text in new.items() if old[name] != text]
        told.append((made, changed))
    return told
