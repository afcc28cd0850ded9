"""Writes what a release leaves in its data base, for later releases to be tested with: a small job with some of all.

    SITETRACK_DATA=$(mktemp -d) python -m tests.operations.writes_release > written_by_X.sql

Run it with the sources of the release that is to be remembered. The first line of what it writes tells, as JSON in a
comment, what a phone and a test must know; the tokens in it are good for nothing but this data.
"""

import hashlib
import json
import sys
from datetime import timedelta

import django

django.setup()

from django.core.management import call_command  # noqa: E402
from django.db import connection  # noqa: E402

from inspections.models import CheckIn, Photo  # noqa: E402
from openings.models import SequencePlan  # noqa: E402
from tests import builders as b  # noqa: E402

call_command("migrate", verbosity=0)
site = b.site("quarrygate")
boss = b.supervisor(site)
lower, upper = b.floor(site, "L1", level=1), b.floor(site, "L2", level=2)
crew, board = b.crew(site), b.crew(site, "drywall")
phone, token = b.device(site, crew)
lost, lost_token = b.device(site, crew)
lost.revoked_at = b.MONDAY
lost.save()

untouched = b.opening(site, "101", on=lower)
received = b.opening(site, "102", on=lower)
digest = hashlib.sha256(b"a photo that is not part of this dump").hexdigest()
Photo.objects.create(digest=digest, sent_by=crew, received_at=b.MONDAY, width=1, height=1, size=1)
b.record(crew, b.report(received, counter=1, photos=[digest], note="dent at the head"), of=site, phone=phone)

true = b.opening(site, "103", on=lower)
b.work_up_to(true, "recheck")

twisted = b.opening(site, "104", on=upper)
at = b.work_up_to(twisted, "anchor")
b.frame_check(crew, twisted, readings=b.TWISTED_READINGS, at=at + b.MINUTE * 30)  # a failed check holds the opening
b.check_in(crew, twisted, "anchor", "hold", at=at + b.MINUTE * 40, note="anchors missing at the head")

early = b.opening(site, "105", on=upper)
at = b.work_up_to(early, "anchor")
b.check_in(board, early, "board", "start", at=at + b.MINUTE)  # boarded before it was checked: a critical alert
b.frame_check(crew, early, at=at + timedelta(hours=3))

taken_back = b.opening(site, "106", on=upper)
wrong = b.check_in(crew, taken_back)
b.check_in(crew, taken_back, "receive", "void", about=wrong.pk, at=b.MONDAY + b.MINUTE)

told = {
    "site": site.code,
    "token": token,
    "revoked": lost_token,
    "boss": boss.email,
    "check_ins": CheckIn.objects.count(),
    "plans": SequencePlan.objects.count(),
}
sys.stdout.write(f"-- {json.dumps(told)}\n")
connection.ensure_connection()
for line in connection.connection.iterdump():
    sys.stdout.write(line + "\n")
