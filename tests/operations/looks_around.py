"""Looks at a migrated data base as a process of its own: what it finds, as one line of JSON.

Run with the settings' environment and, as arguments, a site's code, its supervisor's address, a phone's token and a
revoked phone's token.
"""

import json
import sys

import django

django.setup()

from django.conf import settings  # noqa: E402
from django.test import Client  # noqa: E402

from inspections.models import Alert, CheckIn, Hold, Progress  # noqa: E402
from inspections.services.cases import work_out_cases  # noqa: E402
from openings.models import Opening, Site  # noqa: E402
from sitetrack.access.models import Person  # noqa: E402
from sitetrack.kit.clock import now  # noqa: E402
from tests import builders as b  # noqa: E402

settings.ALLOWED_HOSTS = ["testserver"]
code, boss, token, revoked = sys.argv[1:]
site = Site.objects.get(code=code)
page = Client(raise_request_exception=False)
page.force_login(Person.objects.get(email=boss))
openings = list(Opening.objects.filter(site=site))
worked = work_out_cases([o.pk for o in openings])
stored = {p.pk: p.state for p in Progress.objects.filter(site=site)}
PAGES = ["today", "weekly", "alerts", "schedule", "phones", "plans", "kept-aside", "changes", "readings"]
floors = [f"floors/{pk}" for pk in site.floors.values_list("pk", flat=True)]
addresses = [*PAGES, *floors, *(f"openings/{o.number}" for o in openings)]
counted = {"check_ins": CheckIn.objects.count(), "holds": Hold.objects.count(), "alerts": Alert.objects.count()}
phone, lost = b.client(token=token), b.client(token=revoked)
item = b.push_item(Opening.objects.get(site=site, number="101"), counter=2)
pushed = phone.post("/api/v1/sync/push", b.batch(item, device_time=now()))
found = {
    "counted": counted,
    "pages": {address: page.get(f"/s/{code}/{address}").status_code for address in addresses},
    "differ": [
        {"opening": w.opening.number, "fields": sorted(k for k, v in w.state.to_dict().items() if old.get(k) != v)}
        for w in worked
        if (old := stored.get(w.opening.pk)) and old != w.state.to_dict()
    ],
    "compared": len(stored),
    "pulled": phone.get(f"/api/v1/sync/pull?site={site.pk}").status_code,
    "pushed": pushed.json()["results"][0]["outcome"] if pushed.status_code == 200 else pushed.status_code,
    "lost": lost.get(f"/api/v1/sync/pull?site={site.pk}").status_code,
}
print(json.dumps(found))  # noqa: T201
