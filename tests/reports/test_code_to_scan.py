"""The code on an evidence print, read back from the rendered sheet by a reader that this project does not use."""

import shutil
import subprocess

import pypdfium2
import pytest
from django.test import Client
from django.urls import reverse

from tests.reports.story import job

READER = shutil.which("zbarimg")
pytestmark = [pytest.mark.django_db, pytest.mark.skipif(READER is None, reason="zbarimg is not installed")]


@pytest.mark.parametrize("paper", ["letter", "a4"])
def test_the_code_on_the_sheet_is_the_address_of_the_live_record(tmp_path, paper):
    story = job()
    client = Client()
    client.force_login(story.inspector)
    address = reverse("reports:evidence-pdf", args=[story.site.code])
    printed = client.get(address, {"opening": "102", "paper": paper})
    found = set()
    document = pypdfium2.PdfDocument(b"".join(printed.streaming_content))
    for place, sheet in enumerate(document):
        picture = tmp_path / f"{place}.png"
        sheet.render(scale=150 / 72).to_pil().save(picture)  # as an office printer would, or worse
        asked = [READER, "--quiet", "--raw", str(picture)]
        said = subprocess.run(asked, capture_output=True, text=True, check=False)
        found.update(said.stdout.split())
    assert found == {f"http://testserver{reverse('desk:opening', args=[story.site.code, '102'])}"}
