"""Telling a person what was just done, with an Undo beside it where there is one.

How to give an action its Undo, in three steps:

1. A service of its own takes the action back, in one transaction, for whoever may do the action and only as long as
   nothing came after it. `sitetrack.kit.undoing.must_be_ones_own_and_recent` refuses the usual cases in words:

       @transaction.atomic
       def take_back_acknowledgement(*, alert: Alert, who: Person, now: datetime) -> Alert: ...

2. A view of its own, reached by POST, runs it and answers; a refusal is told in the service's own words:

       @require_POST
       @site_page
       def unacknowledge(request: HttpRequest, desk: Desk, alert_id: UUID) -> HttpResponse:
           alert = _alert(desk, alert_id)
           return undone(
               request,
               lambda: take_back_acknowledgement(alert=alert, who=desk.person, now=desk.now),
               said=_("Not acknowledged any more."),
               back=reverse("desk:alerts", args=[desk.site.code]),
           )

3. Where the action succeeds, tell it with the address of that view, and whatever the view must know besides:

       told(request, _("Acknowledged."), undo=Undo(reverse("desk:unacknowledge", args=[desk.site.code, alert.pk])))
       return go_back(request, reverse("desk:alerts", args=[desk.site.code]))

The message is shown on the next page drawn, whichever that is, as a form that needs no script. `fields` come back as
the form's hidden fields, so a person can change them: the service checks them like anything typed. A message is told
once; an Undo pressed late or twice finds what is there then, and the service says so.

`go_back` returns to the page that the form was on, where the form said so; on a page drawn for a GET:

       <input type="hidden" name="back" value="{{ request.get_full_path }}">
"""

import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

from django.contrib import messages
from django.contrib.messages.storage.base import Message
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.utils.http import url_has_allowed_host_and_scheme

from sitetrack.kit.problems import Problem

LONGEST_BACK = 2000


@dataclass(frozen=True, slots=True)
class Undo:
    """Where an Undo is sent by POST, and the hidden fields it takes along."""

    address: str
    fields: Mapping[str, str] = field(default_factory=dict)


def told(request: HttpRequest, said: Any, *, undo: Undo | None = None) -> None:
    """Tell what was done on the next page, with its Undo."""
    kept = json.dumps({"undo": undo.address, "fields": dict(undo.fields)}) if undo else ""
    messages.success(request, str(said), extra_tags=kept)


def refused(request: HttpRequest, problem: Problem) -> None:
    """Tell on the next page why something was not done."""
    messages.error(request, problem.detail)


def undo_of(message: Message) -> Undo | None:
    """The Undo that goes with a message."""
    if not (message.extra_tags or "").startswith("{"):
        return None
    kept = json.loads(message.extra_tags)
    return Undo(kept["undo"], kept["fields"])


def undone(request: HttpRequest, take_back: Callable[[], object], *, said: Any, back: str) -> HttpResponse:
    """Take something back and say so, or say why not; then return to the page the Undo was on."""
    try:
        take_back()
    except Problem as problem:
        refused(request, problem)
    else:
        told(request, said)
    return go_back(request, back)


def go_back(request: HttpRequest, otherwise: str) -> HttpResponse:
    """Return to the page that the form named in `back`, if that is a page of this server."""
    back = request.POST.get("back", "")[:LONGEST_BACK]
    ours = back.startswith("/") and url_has_allowed_host_and_scheme(
        back, allowed_hosts=None, require_https=request.is_secure()
    )
    return HttpResponseRedirect(back if ours else otherwise)
