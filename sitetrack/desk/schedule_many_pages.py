"""Sheet F-5 by hand: the openings of the schedule as a list, many chosen and the same said of all of them."""

from typing import Any
from uuid import UUID

from django import forms
from django.core.paginator import Paginator
from django.db.models import Q
from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext
from django.views.decorators.http import require_http_methods

from inspections.selectors.floors import floor_names
from openings.intake.by_hand import TYPED, read_typed, typed_errors
from openings.intake.taking_in import unit_of
from openings.models import Opening
from openings.services.chosen import ChangedMeanwhile
from openings.services.edit import edit_openings
from openings.services.listing import list_openings
from sitetrack.access.rights import Right, allows
from sitetrack.desk.schedule_edit_form import typed_of
from sitetrack.desk.schedule_edit_pages import said_listed, tell_changed
from sitetrack.desk.sheets import SCHEDULE, Desk, draw, site_page
from sitetrack.desk.told import go_back, told
from sitetrack.desk.words import word
from sitetrack.kit.problems import BadInput, Problem

ON_PAGE = 200
LONGEST_SEARCH = 80
LONGEST_VALUE = 4000
SET_FACTS = tuple(fact for fact in TYPED if fact != "number")
BOTH_SHOWN = 20


class NarrowForm(forms.Form):
    """What the list is narrowed by, in the address."""

    q = forms.CharField(label=gettext_lazy("Number, mark, room or hardware set"), required=False, max_length=80)
    floor = forms.ChoiceField(label=gettext_lazy("Floor"), required=False)
    listed = forms.ChoiceField(
        label=gettext_lazy("In the schedule"),
        required=False,
        choices=[("", gettext_lazy("in the schedule")), ("no", gettext_lazy("taken off or no longer listed"))],
    )

    def __init__(self, data: Any, floors: list[tuple[str, str]]) -> None:
        super().__init__(data, label_suffix="")
        self.fields["floor"].choices = [("", _("all floors")), *floors]  # type: ignore[attr-defined]


@require_http_methods(["GET", "HEAD", "POST"])
@site_page
def openings(request: HttpRequest, desk: Desk) -> HttpResponse:
    """The list; POST says the same of all chosen, takes them off the schedule or puts them back."""
    if request.method != "POST":
        return _page(request, desk)
    chosen = _chosen(request.POST.getlist("chosen"))
    try:
        said, changed = _done(request, desk, chosen)
    except ChangedMeanwhile as stale:
        both = _both(desk, request, stale.openings)
        return _page(request, desk, chosen=chosen, refusal=stale.detail, both=both, status=409)
    except BadInput as problem:
        said = next((sentence for _name, sentence in typed_errors(problem)), problem.detail)
        return _page(request, desk, chosen=chosen, refusal=said, status=422)
    except Problem as problem:
        return _page(request, desk, chosen=chosen, refusal=problem.detail, status=problem.status)
    if changed:
        tell_changed(request, desk, changed, said)
    else:
        told(request, _("All of them say that already; nothing was changed."))
    return go_back(request, reverse("desk:schedule-openings", args=[desk.site.code]))


def _done(request: HttpRequest, desk: Desk, chosen: dict[UUID, int]) -> tuple[str, list[Opening]]:
    do = request.POST.get("do", "")
    if do in {"off", "back"}:
        back = do == "back"
        moved = list_openings(site=desk.site, versions=chosen, listed=back, who=desk.person, now=desk.now)
        return said_listed(len(moved), back=back), moved
    fact, value = request.POST.get("fact", ""), request.POST.get("value", "").strip()
    if fact not in SET_FACTS:
        raise BadInput(_("Choose which fact to set."))
    if not value and request.POST.get("unknown") != "1":
        raise BadInput(_("Write what to set it to, or tick that it is unknown."))
    if len(value) > LONGEST_VALUE:
        raise BadInput(_("at most %(n)d characters") % {"n": LONGEST_VALUE})
    facts = read_typed({fact: value}, unit=unit_of(desk.site))
    changed = edit_openings(site=desk.site, versions=chosen, facts=facts, who=desk.person, now=desk.now)
    said = ngettext("%(fact)s set of %(n)d opening.", "%(fact)s set of %(n)d openings.", len(changed))
    return said % {"fact": _fact_name(fact).capitalize(), "n": len(changed)}, changed


def _page(
    request: HttpRequest,
    desk: Desk,
    *,
    chosen: dict[UUID, int] | None = None,
    refusal: str = "",
    both: list[tuple[str, str, str]] | None = None,
    status: int = 200,
) -> HttpResponse:
    floors = [(str(floor.id), f"{floor.name}, {floor.building}") for floor in floor_names(desk.site, desk.person)]
    form = NarrowForm(request.GET, floors)
    page = Paginator(_narrowed(desk, form), ON_PAGE).get_page(request.GET.get("page"))
    context = {
        "narrow": form,
        "page": page,
        "rows": [(opening, typed_of(opening, desk.site), opening.pk in (chosen or {})) for opening in page],
        "may_edit": allows(desk.membership.role, Right.CHANGE_SCHEDULE),
        "set_facts": [(fact, _fact_name(fact)) for fact in SET_FACTS],
        "fact": request.POST.get("fact", ""),
        "value": request.POST.get("value", "")[:LONGEST_VALUE],
        "unknown": request.POST.get("unknown") == "1",
        "refusal": refusal,
        "both": both or [],
    }
    return draw(request, desk, SCHEDULE, "desk/schedule_openings.html", context, status=status)


def _narrowed(desk: Desk, form: NarrowForm) -> Any:
    found = Opening.objects.visible_to(desk.person).filter(site=desk.site).select_related("floor__building", "wall")
    asked = form.cleaned_data if form.is_valid() else {}
    found = found.filter(in_schedule=asked.get("listed") != "no")
    if asked.get("floor"):
        found = found.filter(floor=asked["floor"])
    if text := (asked.get("q") or "").strip()[:LONGEST_SEARCH]:
        found = found.filter(
            Q(number__icontains=text)
            | Q(mark__icontains=text)
            | Q(room_from__icontains=text)
            | Q(room_to__icontains=text)
            | Q(hardware_set__iexact=text)
        )
    return found.order_by("floor__building__code", "floor__level", "floor__code", "walk", "number")


def _chosen(given: list[str]) -> dict[UUID, int]:
    """Ids and the versions they were seen at; what is neither is left out."""
    chosen = {}
    for text in given:
        key, _colon, version = text.partition(":")
        try:
            chosen[UUID(key)] = int(version[:10])
        except ValueError:
            continue
    return chosen


def _both(desk: Desk, request: HttpRequest, stale: list[Opening]) -> list[tuple[str, str, str]]:
    """Of each opening changed meanwhile: its number, what stands there now, what was to be set."""
    fact = request.POST.get("fact", "")
    if fact not in SET_FACTS or request.POST.get("do") in {"off", "back"}:
        return []
    asked = request.POST.get("value", "")[:80]
    return [(opening.number, typed_of(opening, desk.site)[fact], asked) for opening in stale[:BOTH_SHOWN]]


def _fact_name(fact: str) -> str:
    return word("field", "rating_minutes" if fact == "rating" else fact)
