"""Keeping photos, each under the digest of what was sent, so that sending one again changes nothing.

The file is kept whole or not at all (kit/storage.py), and the row comes last: a full disk or a kill leaves nothing half
there.
"""

import errno
import hashlib
from datetime import datetime
from io import BytesIO

from django.core.files.storage import default_storage
from django.db import transaction
from django.utils.translation import gettext as _

from inspections.models import Photo
from sitetrack.access.models import Membership, Person
from sitetrack.access.roles import Role
from sitetrack.kit.pictures import drawn_anew
from sitetrack.kit.problems import BadInput, FieldError, Forbidden, Problem, TooLarge
from sitetrack.kit.storage import keep

MOST_BYTES = 8_000_000
FULL = {errno.ENOSPC, errno.EDQUOT}


class StorageFull(Problem):
    code, status, title = "storage-full", 507, "No room left on the server"


def keep_photo(*, digest: str, content: bytes, who: Person, now: datetime) -> tuple[Photo, bool]:
    """Keep a photo; whether it is new. Its check-in may have come before or come later.

    Raises `Forbidden` for those who report nowhere, `TooLarge`, `BadInput` for what is no picture or not the one that
    the digest names, and `StorageFull`.
    """
    if not Membership.objects.filter(person=who).exclude(role=Role.VIEWER).exists():
        raise Forbidden(_("Photos are sent by those who report from openings. Ask the supervisor for a role."))
    if len(content) > MOST_BYTES:
        raise TooLarge(
            _("The photo has more than %(most)d bytes. Make it smaller and send it again.") % {"most": MOST_BYTES}
        )
    if hashlib.sha256(content).hexdigest() != digest:
        error = FieldError("body", "not the photo of this address", expected="bytes whose SHA-256 is the address")
        raise BadInput(_("The photo was damaged on its way, or is another one. Send it again."), errors=[error])
    known = Photo.objects.filter(pk=digest).first()
    if known and photo_is_kept(digest):
        return known, False
    picture = drawn_anew(content)
    _write(digest, picture.content)
    with transaction.atomic():
        return Photo.objects.get_or_create(
            digest=digest,
            defaults={
                "sent_by": who,
                "received_at": now,
                "width": picture.width,
                "height": picture.height,
                "size": len(picture.content),
            },
        )


def photo_name(digest: str) -> str:
    """Under which name a photo is kept; `digest` is 64 lower-case hexadecimal digits and nothing else."""
    return f"photos/{digest[:2]}/{digest}.jpg"


def photo_is_kept(digest: str) -> bool:
    """Whether a photo's file is there."""
    return default_storage.exists(photo_name(digest))


def read_photo(digest: str) -> bytes:
    """A kept photo, a JPEG of at most a few megabytes; raises OSError where its file is not there."""
    with default_storage.open(photo_name(digest)) as file:
        content: bytes = file.read()
    return content


def _write(digest: str, content: bytes) -> None:
    try:
        keep(photo_name(digest), BytesIO(content))
    except OSError as error:
        if error.errno in FULL:
            raise StorageFull("The photo was not kept: the server's disk is full. It will be tried again.") from error
        raise
