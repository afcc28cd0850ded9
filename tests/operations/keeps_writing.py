"""A crew at work, as a process of its own: check-ins with photos, one after another, until it is ended.

Run with the settings' environment; prints a line when the site stands and work has begun.
"""

import hashlib
import io
import itertools

import django

django.setup()

from PIL import Image  # noqa: E402

from inspections.services.photos import keep_photo  # noqa: E402
from sitetrack.kit.clock import now  # noqa: E402
from tests import builders as b  # noqa: E402


def picture(n: int) -> bytes:
    """A photo unlike any other."""
    made = io.BytesIO()
    Image.effect_noise((160 + n % 50, 120), 40 + n % 60).save(made, "JPEG")
    return made.getvalue()


site = b.site()
boss = b.supervisor(site)
for number in itertools.count(1):
    opening = b.opening(site, f"{number:05}")
    content = picture(number)
    digest = hashlib.sha256(content).hexdigest()
    keep_photo(digest=digest, content=content, who=boss, now=now())
    b.work_up_to(opening, "stud")
    b.check_in(boss, opening, "anchor", photos=[digest])
    if number == 5:
        print("at work", flush=True)
