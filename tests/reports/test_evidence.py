"""Evidence packs. Outside checks: pypdf reads the print back, the offline script proves the JSON, hashlib the file."""

import hashlib
import io
import json
from datetime import timedelta

import pypdf
import pytest
from django.test import Client
from django.urls import reverse
from PIL import Image

from inspections.evidence.pack import Asked, gather_pack
from inspections.models import FrameCheck, SealedEntry
from inspections.services.photos import keep_photo
from inspections.services.sealing import heading
from sitetrack.kit.problems import BadInput
from sitetrack.reports import offline_verify
from sitetrack.reports.evidence_pdf import write_evidence_pdf
from sitetrack.reports.paper.fonts import legible
from tests import builders as make
from tests.reports.story import AFTER, job

pytestmark = pytest.mark.django_db
LETTER, A4 = (612, 792), (595, 842)


def fetch(who, site, form="pdf", **asked):
    client = Client()
    client.force_login(who)
    response = client.get(reverse(f"reports:evidence-{form}", args=[site.code]), asked)
    return response.status_code, b"".join(response) if response.streaming else response.content


def printed(pdf):
    return "\n".join(page.extract_text() for page in pypdf.PdfReader(io.BytesIO(pdf)).pages)


def test_the_print_of_an_opening_tells_readings_limits_sources_people_and_seals():
    story = job()
    status, pdf = fetch(story.inspector, story.site, opening="102")
    said = printed(pdf)
    assert status == 200
    assert "Opening 102" in said
    check = FrameCheck.objects.get(pk=story.failed.pk)
    for item in check.judged["items"]:
        assert item["limit"]["text"].rstrip('"') in said.replace("\n", " ")
        assert item["source"]["name"].split(",")[0] in said.replace("\n", " ")
    assert '3/16"' in said
    assert "fails" in said
    assert "passes" in said
    assert story.inspector.name in said
    for entry in SealedEntry.objects.filter(opening_number="102"):
        assert entry.digest in said.replace("\n", "")
    assert "202" not in said.split("Evidence of checks")[0]


def test_a_name_in_letters_the_font_has_not_is_spelled_between_brackets():
    story = job()
    said = printed(fetch(story.inspector, story.site, opening="102")[1])
    assert "[shrkh l'bwb]" in said


@pytest.mark.parametrize("text", ["Ñandú Íñiguez", "3'-0\" × 7'-0\"", "±1/16", "Zoë", "½", "a\nb"])
def test_what_the_font_has_is_left_as_it_is(text):
    assert legible(text) == text


@pytest.mark.parametrize(
    ("text", "shown"), [("شركة الأبواب Ltd", "[shrkh l'bwb] Ltd"), ("🚚", "[truck]"), ("門", "[Men]")]
)
def test_what_it_has_not_is_spelled(text, shown):
    assert legible(text) == shown


@pytest.mark.parametrize(("paper", "size"), [("letter", LETTER), ("a4", A4)])
def test_paper_is_letter_or_a4(paper, size):
    story = job()
    reader = pypdf.PdfReader(io.BytesIO(fetch(story.inspector, story.site, opening="102", paper=paper)[1]))
    assert {tuple(round(side) for side in page.mediabox[2:]) for page in reader.pages} == {size}


def test_a_photo_that_came_is_printed_and_one_that_did_not_is_said(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path
    story = job()
    drawn = io.BytesIO()
    Image.new("RGB", (40, 30), "red").save(drawn, "PNG")
    digest, missing = hashlib.sha256(drawn.getvalue()).hexdigest(), "ab" * 32
    make.frame_check(story.crew, story.read, at=AFTER, photos=(digest, missing))
    keep_photo(digest=digest, content=drawn.getvalue(), who=story.crew, now=AFTER)
    status, pdf = fetch(story.inspector, story.site, opening="102")
    assert status == 200
    said = printed(pdf)
    assert f"Photo {digest} (received)" in said
    assert f"Photo {missing} (not received)" in said
    images = [image.image for page in pypdf.PdfReader(io.BytesIO(pdf)).pages for image in page.images]
    assert [image.size for image in images] == [(40, 30)]


def test_a_site_in_spanish_prints_in_spanish():
    story = job(language="es", units="metric")
    said = printed(fetch(story.inspector, story.site, opening="102")[1])
    assert "Evidence of checks" not in said
    assert "mm" in said


def test_the_same_pack_prints_the_same_bytes(tmp_path):
    story = job()
    pack = gather_pack(story.site, story.inspector, Asked(number="102"))
    prints = [tmp_path / "one.pdf", tmp_path / "two.pdf"]
    for path in prints:
        write_evidence_pdf(pack, path, size="letter", address=lambda o: f"https://x.example/{o.number}", now=AFTER)
    assert prints[0].read_bytes() == prints[1].read_bytes()


def test_the_json_proves_itself_and_a_changed_reading_is_found():
    story = job()
    record = json.loads(fetch(story.inspector, story.site, "json", opening="102")[1])
    assert list(offline_verify.faults(record)) == []
    shown = {e["heading"]["subject"] for e in record["entries"] if "content" in e}
    assert {str(story.failed.pk), str(story.passed.pk)} <= shown
    last = SealedEntry.objects.order_by("-n")[0]
    assert record["entries"][-1]["heading"] == heading(last)
    entry = next(e for e in record["entries"] if e["heading"]["subject"] == str(story.failed.pk))
    entry["content"]["readings"]["twist"] = '0"'
    assert list(offline_verify.faults(record)) == [f"entry {entry['heading']['n']}: its content was altered"]


def test_a_crew_finds_its_own_companys_checks_only():
    story = job()
    other = make.crew(story.site, "drywall")
    for who, found in ((story.crew, True), (other, False), (make.viewer(story.site), True)):
        pack = gather_pack(story.site, who, Asked(number="102"))
        own = {check.check_in.pk for each in pack.openings for check in each.checks}
        assert (story.failed.pk in own) is found
        record = json.loads(fetch(who, story.site, "json", opening="102")[1])
        assert any(e.get("content", {}).get("id") == str(story.failed.pk) for e in record["entries"]) is found
    assert fetch(make.person(), story.site, opening="102")[0] == 404


def test_a_floor_a_wall_and_days_narrow_the_pack():
    story = job()

    def numbers(**asked):
        pack = gather_pack(story.site, story.inspector, Asked(**asked))
        return [each.opening.number for each in pack.openings]

    assert numbers(floor_id=story.low.pk) == ["101", "102"]
    assert numbers(floor_id=story.high.pk) == []
    assert numbers(wall="w1") == ["101", "102"]
    assert numbers(first=make.MONDAY + timedelta(hours=7)) == ["102"]
    assert numbers(after=make.MONDAY - timedelta(days=1)) == ["101"]


@pytest.mark.parametrize(
    ("asked", "status", "words"),
    [
        ({"opening": "999"}, 404, "no opening 999"),
        ({"wall": "W9"}, 404, "no wall W9"),
        ({"from": "2026-02-30"}, 422, "not a day"),
        ({"to": "yesterday"}, 422, "2026-03-02"),
        ({"paper": "a3"}, 422, "letter or a4"),
        ({"floor": "x"}, 404, ""),
    ],
)
def test_what_cannot_be_packed_is_refused_in_words(asked, status, words):
    story = job()
    answered, body = fetch(story.inspector, story.site, **asked)
    assert answered == status
    assert words in body.decode().replace("&#x27;", "'")


def test_more_than_a_document_holds_is_refused(monkeypatch):
    story = job()
    monkeypatch.setattr("inspections.evidence.pack.MOST_CHECKS", 2)
    with pytest.raises(BadInput, match="fewer days"):
        gather_pack(story.site, story.inspector, Asked())


def test_queries_do_not_grow_with_the_checks(django_assert_num_queries):
    story = job()
    with django_assert_num_queries(8) as few:
        gather_pack(story.site, make.supervisor(story.site), Asked())
    for opening in make.openings(story.site, 5, on=story.low):
        make.work_up_to(opening, "trueness")
    with django_assert_num_queries(len(few)):
        gather_pack(story.site, make.supervisor(story.site), Asked())
