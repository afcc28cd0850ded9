"""One's own account: password, one-time codes, and where one is signed in."""

from typing import Any
from uuid import UUID

import segno
from django.contrib import messages
from django.contrib.auth import authenticate, update_session_auth_hash
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.safestring import mark_safe
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from sitetrack.access.models import RecoveryCode, SignedIn
from sitetrack.access.services.codes import (
    Proof,
    address_of,
    begin_codes,
    confirm_codes,
    drop_codes,
    has_codes,
    prove_code,
    renew_recovery_codes,
    typed_secret,
)
from sitetrack.access.services.passwords import set_password
from sitetrack.access.services.sessions import SHOWN_MOST, note_new_key, sign_out_everywhere, sign_out_one
from sitetrack.desk.code_needed import owes_code
from sitetrack.desk.sheets import Sheet
from sitetrack.desk.signing_in import PROVED
from sitetrack.kit.clock import now
from sitetrack.kit.problems import Problem

ACCOUNT = Sheet("F-0", gettext_lazy("My account"))
CODES = Sheet("F-0", gettext_lazy("One-time codes"))


@never_cache
@require_safe
@login_required
def account(request: HttpRequest) -> HttpResponse:
    """What belongs to the account."""
    return _account(request)


@sensitive_post_parameters()
@require_POST
@login_required
def change_password(request: HttpRequest) -> HttpResponse:
    """A new password, proved by the old one; every other browser is signed out by it."""
    person: Any = request.user
    new = request.POST.get("new", "")
    if not _proves_password(request):
        return _account(request, _("This is not your password."))
    if new != request.POST.get("again", ""):
        return _account(request, _("The two are not the same. Type the new password twice."))
    try:
        set_password(person=person, password=new, who=person, now=now(), keep=str(request.session.session_key))
    except Problem as problem:
        return _account(request, problem.detail)
    _keep_this_session(request)
    messages.success(request, _("Your password is changed. Other browsers are signed out."))
    return redirect("desk:account")


@sensitive_post_parameters()
@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
@login_required
def codes(request: HttpRequest) -> HttpResponse:
    """Scan, give the first code back, and keep the recovery codes, which are shown on this answer only."""
    person: Any = request.user
    if has_codes(person):
        return redirect("desk:account")
    key = begin_codes(person=person, now=now())
    picture = segno.make(address_of(key), error="m").svg_inline(border=4, omitsize=True)
    context: dict[str, Any] = {
        "sheet": CODES,
        "secret": typed_secret(key),
        "needed": owes_code(person),
        # Made by the library from the secret and the person's own address, which it encodes as modules of the code.
        "picture": mark_safe(picture),  # noqa: S308
    }
    if request.method != "POST":
        return render(request, "desk/codes.html", context)
    try:
        recovery = confirm_codes(person=person, code=request.POST.get("code", "")[:100], now=now())
    except Problem as problem:
        return render(request, "desk/codes.html", context | {"refused": problem.detail}, status=problem.status)
    request.session[PROVED] = True
    sign_out_everywhere(person=person, keep=str(request.session.session_key), now=now())
    _keep_this_session(request)
    return render(request, "desk/recovery_codes.html", {"sheet": CODES, "recovery": recovery})


@sensitive_post_parameters()
@require_POST
@login_required
def codes_off(request: HttpRequest) -> HttpResponse:
    """Turn codes off, proved by password and code; where a site asks for them they are to be set up anew."""
    person: Any = request.user
    if said := _unproved(request):
        return _account(request, said)
    drop_codes(person=person, who=person, now=now())
    request.session[PROVED] = False
    messages.success(request, _("One-time codes are off."))
    return redirect("desk:account")


@sensitive_post_parameters()
@never_cache
@require_POST
@login_required
def new_recovery_codes(request: HttpRequest) -> HttpResponse:
    """Recovery codes in place of the old ones, proved by password and code; shown on this answer only."""
    person: Any = request.user
    if not has_codes(person):
        return redirect("desk:account")
    if said := _unproved(request):
        return _account(request, said)
    recovery = renew_recovery_codes(person=person, now=now())
    return render(request, "desk/recovery_codes.html", {"sheet": CODES, "recovery": recovery, "renewed": True})


@require_POST
@login_required
def end_session(request: HttpRequest, row_id: UUID) -> HttpResponse:
    """Sign one's own other browser out."""
    person: Any = request.user
    sign_out_one(person=person, row=get_object_or_404(SignedIn, pk=row_id, person=person), now=now())
    messages.success(request, _("That browser is signed out."))
    return redirect("desk:account")


@require_POST
@login_required
def end_other_sessions(request: HttpRequest) -> HttpResponse:
    """Sign out everywhere but here."""
    person: Any = request.user
    sign_out_everywhere(person=person, keep=str(request.session.session_key), now=now())
    _keep_this_session(request)
    messages.success(request, _("Every other browser is signed out."))
    return redirect("desk:account")


def _account(request: HttpRequest, refused: str = "") -> HttpResponse:
    person: Any = request.user
    rows = SignedIn.objects.filter(person=person)[:SHOWN_MOST]
    context = {
        "sheet": ACCOUNT,
        "refused": refused,
        "has_codes": has_codes(person),
        "recovery_left": RecoveryCode.objects.filter(person=person, used_at=None).count(),
        "rows": [(row, row.session_key == request.session.session_key) for row in rows],
    }
    return render(request, "desk/account.html", context, status=422 if refused else 200)


def _proves_password(request: HttpRequest) -> bool:
    person: Any = request.user
    return authenticate(request, username=person.email, password=request.POST.get("password", "")) == person


def _unproved(request: HttpRequest) -> str:
    """Why the password and the code sent along don't prove who this is; nothing where they do.

    A browser left open is not enough to turn off what protects the account.
    """
    person: Any = request.user
    if not _proves_password(request):
        return _("This is not your password.")
    proof = prove_code(person=person, code=request.POST.get("code", "")[:100], now=now())
    if proof is Proof.WAIT:
        return _("Too many wrong codes. Wait a quarter of an hour, then try again.")
    return "" if proof is Proof.RIGHT else _("This code does not fit. Wait for the next one and type that.")


def _keep_this_session(request: HttpRequest) -> None:
    """Give the session at hand the person's new hash, under a new key."""
    old = str(request.session.session_key)
    update_session_auth_hash(request, request.user)  # type: ignore[arg-type]
    note_new_key(old=old, new=str(request.session.session_key))
