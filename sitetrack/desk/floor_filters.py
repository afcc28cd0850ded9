"""What a floor's openings can be narrowed by and put in order of."""

from collections.abc import Mapping
from functools import reduce
from operator import or_
from typing import Any

import django_filters
from django.db.models import Exists, F, OuterRef, Q, QuerySet
from django.http import QueryDict
from django.utils.translation import gettext_lazy as _

from inspections.models import Alert, StageStanding
from inspections.models.progress import StageState
from inspections.rules.table import TITLES
from inspections.selectors.stages import StageWords
from openings.models import Opening
from sitetrack.access.roles import Trade
from sitetrack.desk.words import STATES, spoken

RATINGS = [
    ("rated", _("rated")),
    ("unrated", _("not rated")),
    ("unknown", _("rating unknown")),
    *[(str(minutes), f"{minutes} min") for minutes in (20, 45, 60, 90, 180)],
]
TROUBLES = [
    ("alert", _("open alert")),
    ("hold", _("on hold")),
    ("signature", _("awaits signature")),
    ("none", _("no alert, no hold")),
]
ORDERS = [
    ("walk", _("walking order")),
    ("number", _("number")),
    ("-number", _("number, backwards")),
    ("stage", _("next stage")),
    ("-done", _("most done first")),
    ("done", _("least done first")),
    ("trouble", _("trouble first")),
    ("room", _("room")),
    ("rating", _("rating")),
    ("-rating", _("highest rating first")),
]
ORDER_FIELDS = {
    "walk": ("walk", "number"),
    "number": ("number",),
    "-number": ("-number",),
    "stage": (F("progress__next_stage").asc(nulls_last=True), "walk", "number"),
    "trouble": (F("open_alerts").desc(nulls_last=True), F("progress__held").desc(nulls_last=True), "walk", "number"),
    "room": ("room_from", "room_to", "walk", "number"),
    # What nobody has worked out yet counts as nothing done, in every data base.
    "done": (F("progress__earned").asc(nulls_first=True), "walk", "number"),
    "-done": (F("progress__earned").desc(nulls_last=True), "walk", "number"),
    "rating": (F("rating_minutes").asc(nulls_first=True), "walk", "number"),
    "-rating": (F("rating_minutes").desc(nulls_last=True), "walk", "number"),
}


class FloorFilter(django_filters.FilterSet):
    """Filters of the floor sheet; an unknown choice is told beside its field and filters nothing."""

    trade = django_filters.ChoiceFilter(
        label=_("Can start"), choices=Trade.choices, method="can_start", empty_label=_("any trade")
    )
    stage = django_filters.ChoiceFilter(label=_("Stage"), choices=[], method="at_stage", empty_label=_("any stage"))
    state = django_filters.ChoiceFilter(
        label=_("which is"), choices=list(STATES.items()), method="in_state", empty_label=_("next to do")
    )
    rating = django_filters.ChoiceFilter(label=_("Rating"), choices=RATINGS, method="rated", empty_label=_("any"))
    trouble = django_filters.ChoiceFilter(label=_("Trouble"), choices=TROUBLES, method="troubled", empty_label=_("any"))
    rule = django_filters.ChoiceFilter(
        label=_("Alert"), choices=list(TITLES.items()), method="alerted", empty_label=_("any alert or none")
    )
    find = django_filters.CharFilter(label=_("Number, mark or room"), method="named", max_length=40)
    order = django_filters.ChoiceFilter(label=_("In order of"), choices=ORDERS, method="ordered", empty_label=None)

    class Meta:
        model = Opening
        fields: list[str] = []

    def __init__(self, data: QueryDict, *, stages: list[tuple[str, str]], queryset: QuerySet[Any]) -> None:
        super().__init__(data, queryset=queryset)
        self.filters["stage"].extra["choices"] = stages

    def can_start(self, openings: QuerySet[Any], _name: str, trade: str) -> QuerySet[Any]:
        """Openings with a stage that this trade can act on now."""
        mine = StageStanding.objects.filter(opening=OuterRef("pk"), trade=trade, actionable=True)
        return openings.filter(Exists(mine))

    def at_stage(self, openings: QuerySet[Any], _name: str, stage: str) -> QuerySet[Any]:
        """Openings where this stage is next, or is in the state also asked for."""
        state = self.data.get("state", "")
        if state in StageState.values:
            return openings.filter(
                Exists(StageStanding.objects.filter(opening=OuterRef("pk"), stage=stage, state=state))
            )
        return openings.filter(progress__next_stage=stage)

    def in_state(self, openings: QuerySet[Any], _name: str, state: str) -> QuerySet[Any]:
        """Openings with any stage in this state, where no stage is named."""
        if self.data.get("stage"):
            return openings
        return openings.filter(Exists(StageStanding.objects.filter(opening=OuterRef("pk"), state=state)))

    def rated(self, openings: QuerySet[Any], _name: str, rating: str) -> QuerySet[Any]:
        """Openings of this fire rating; unknown is not unrated."""
        if rating == "unknown":
            return openings.filter(rating_minutes=None)
        if rating == "rated":
            return openings.filter(rating_minutes__gt=0)
        return openings.filter(rating_minutes=0 if rating == "unrated" else int(rating))

    def troubled(self, openings: QuerySet[Any], _name: str, trouble: str) -> QuerySet[Any]:
        """Openings with an open alert, a hold, a reading to sign, or none of the first two."""
        alert, held = Q(open_alerts__gt=0), Q(progress__held=True)
        if trouble == "signature":
            return openings.filter(Exists(StageStanding.objects.filter(opening=OuterRef("pk"), awaits_signature=True)))
        return openings.filter({"alert": alert, "hold": held, "none": ~held & Q(open_alerts=None)}[trouble])

    def alerted(self, openings: QuerySet[Any], _name: str, rule: str) -> QuerySet[Any]:
        """Openings with an open alert of this rule."""
        return openings.filter(Exists(Alert.objects.filter(opening=OuterRef("pk"), rule=rule, closed_at=None)))

    def named(self, openings: QuerySet[Any], _name: str, part: str) -> QuerySet[Any]:
        """Openings whose number, frame mark or room has this in it."""
        fields = ("number", "mark", "room_from", "room_to")
        return openings.filter(reduce(or_, (Q(**{f"{field}__icontains": part}) for field in fields)))

    def ordered(self, openings: QuerySet[Any], _name: str, order: str) -> QuerySet[Any]:
        """Openings in the order asked for."""
        return openings.order_by(*ORDER_FIELDS[order])


def narrowed_floor(asked: QueryDict, stages: Mapping[str, StageWords], openings: QuerySet[Any]) -> FloorFilter:
    """The openings of a floor, narrowed and ordered as an address asks for."""
    choices = [(code, spoken(words.title)) for code, words in stages.items()]
    return FloorFilter(asked, stages=choices, queryset=openings)
