"""Sheet F-5: a schedule is handed in, settled, looked at, and taken in; by supervisors only."""

from pathlib import Path
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client

from openings.models import IntakeDraft, Opening, ScheduleRevision, Site
from sitetrack.kit.undoing import UNDO_WITHIN
from tests import builders as make
from tests.desk.looking import signed_in, words
from tests.openings.intake import sheets

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _uploads(settings: Any, tmp_path: Path) -> None:
    settings.MEDIA_ROOT = tmp_path / "uploads"


def hand_in(desk: Client, path: Path, name: str = "") -> Any:
    upload = SimpleUploadedFile(name or path.name, path.read_bytes())
    return desk.post("/s/clinic/schedule", {"file": upload}, follow=True)


def take(desk: Client, page: Any, **more: str) -> Any:
    draft = IntakeDraft.objects.get()
    based_on = page.context["preview"].based_on
    return desk.post(f"/s/clinic/schedule/files/{draft.pk}/take-in", {"based_on": based_on, **more}, follow=True)


def test_a_schedule_is_shown_before_it_is_taken_in(job: Site, desk: Client, tmp_path: Path) -> None:
    page = hand_in(desk, sheets.xlsx(tmp_path / "doors.xlsx", sheets.PLAIN))
    text = words(page)
    assert "3 added" in text
    assert "Nothing has been written yet" in text
    assert "fire rating (1)" in text
    assert not Opening.objects.exists()
    page = take(desk, page, label="ASI-1")
    assert "Taken in." in words(page)
    assert "ASI-1" in words(page)
    assert Opening.objects.filter(site=job).count() == 3
    assert not IntakeDraft.objects.exists()


def test_a_schedule_held_in_a_bucket_is_taken_in(job: Site, desk: Client, tmp_path: Path, bucket: Any) -> None:
    take(desk, hand_in(desk, sheets.xlsx(tmp_path / "doors.xlsx", sheets.PLAIN)))
    assert Opening.objects.filter(site=job).count() == 3


def test_a_refused_file_is_told_beside_the_form_and_not_kept(job: Site, desk: Client, tmp_path: Path) -> None:
    page = hand_in(desk, sheets.xlsx(tmp_path / "doors.xlsx", sheets.PLAIN), "doors.csv")
    assert page.status_code == 422
    assert "rename it to end in .xlsx" in words(page)
    assert not IntakeDraft.objects.exists()


def test_columns_and_defaults_are_settled_on_the_page(job: Site, desk: Client, tmp_path: Path) -> None:
    rows = [["Tür", "Breite", "Höhe"], ["101", "915", "2134"]]
    page = hand_in(desk, sheets.csv_file(tmp_path / "doors.csv", rows))
    assert "Say which column holds the opening number" in words(page)
    draft = IntakeDraft.objects.get()
    page = desk.post(
        f"/s/clinic/schedule/files/{draft.pk}",
        {
            "column-number": "Tür", "column-width": "Breite", "column-height": "Höhe", "unit": "mm",
            "default-floor": "2", "default-electrified": "no",
        },
        follow=True,
    )  # fmt: skip
    assert "1 added" in words(page)
    take(desk, page)
    opening = Opening.objects.select_related("floor").get()
    assert (opening.width.mm, opening.floor.code, opening.electrified) == (915, "2", False)


def test_a_default_that_cannot_be_read_is_told_and_the_form_kept(job: Site, desk: Client, tmp_path: Path) -> None:
    hand_in(desk, sheets.csv_file(tmp_path / "doors.csv", sheets.PLAIN))
    draft = IntakeDraft.objects.get()
    columns = {f"column-{fact}": name for fact, name in draft.settled["columns"].items()}
    page = desk.post(
        f"/s/clinic/schedule/files/{draft.pk}", {**columns, "unit": "in", "default-hand": "LF"}, follow=True
    )
    assert "LH, RH, LHR or RHR" in words(page)
    assert 'value="LF"' in page.content.decode()


def test_a_preview_that_shows_all_its_rows_offers_no_further_ones(job: Site, desk: Client, tmp_path: Path) -> None:
    page = hand_in(desk, sheets.csv_file(tmp_path / "doors.csv", sheets.PLAIN))
    assert "The next rows" not in words(page)


def test_the_preview_names_what_stands_already(job: Site, desk: Client, tmp_path: Path) -> None:
    standing, waiting = make.opening(job, "101A"), make.opening(job, "102")
    make.work_up_to(standing, "set")
    page = hand_in(desk, sheets.csv_file(tmp_path / "doors.csv", sheets.PLAIN))
    told = words(page)
    assert "1 of the openings below has its frame already:" in told
    assert page.context["frames_stand"] == ["101A"]
    assert waiting.number in told


def test_a_stale_preview_is_not_taken_in(job: Site, desk: Client, tmp_path: Path) -> None:
    page = hand_in(desk, sheets.csv_file(tmp_path / "doors.csv", sheets.PLAIN))
    make.opening(job, "999")
    page = take(desk, page)
    assert "Look at the preview again" in words(page)
    assert not ScheduleRevision.objects.exists()


def test_refused_rows_say_where_and_how_to_mend(job: Site, desk: Client, tmp_path: Path) -> None:
    rows = [*sheets.PLAIN, ["103", "1", "3'-13\"", "7'-0\"", "", "", "<script>x</script>"]]
    page = hand_in(desk, sheets.csv_file(tmp_path / "doors.csv", rows))
    assert "less than 12 inches" in words(page)
    assert "<script>x" not in page.content.decode()


def test_a_held_file_can_be_let_go(job: Site, desk: Client, tmp_path: Path, django_capture_on_commit_callbacks) -> None:
    hand_in(desk, sheets.csv_file(tmp_path / "doors.csv", sheets.PLAIN))
    draft = IntakeDraft.objects.get()
    stored = Path(draft.file.path)
    told = desk.post(f"/s/clinic/schedule/files/{draft.pk}/let-go", follow=True)
    assert f"files/{draft.pk}/again" in told.content.decode()
    assert f'href="/s/clinic/schedule/files/{draft.pk}"' not in told.content.decode()
    assert desk.get(f"/s/clinic/schedule/files/{draft.pk}").status_code == 404
    assert desk.post(f"/s/clinic/schedule/files/{draft.pk}/take-in").status_code == 404
    IntakeDraft.objects.update(let_go_at=draft.made_at - UNDO_WITHIN)
    with django_capture_on_commit_callbacks(execute=True):
        hand_in(desk, sheets.csv_file(tmp_path / "others.csv", sheets.PLAIN))
    assert not IntakeDraft.objects.filter(pk=draft.pk).exists(), "gone for good with the next file"
    assert not stored.exists()


def test_letting_a_file_go_is_taken_back_by_who_did_it_and_soon(job: Site, desk: Client, tmp_path: Path) -> None:
    hand_in(desk, sheets.csv_file(tmp_path / "doors.csv", sheets.PLAIN))
    draft = IntakeDraft.objects.get()
    address = f"/s/clinic/schedule/files/{draft.pk}"
    desk.post(f"{address}/let-go")
    other = signed_in(make.member(job, "supervisor"))
    assert other.post(f"{address}/again").status_code == 404
    assert "held again" in words(desk.post(f"{address}/again", follow=True))
    assert desk.get(address).status_code == 200
    desk.post(f"{address}/let-go")
    IntakeDraft.objects.update(let_go_at=draft.made_at - UNDO_WITHIN - make.MINUTE)
    assert "Not undone" in words(desk.post(f"{address}/again", follow=True))
    assert desk.get(address).status_code == 404


def test_only_a_few_files_are_held(job: Site, desk: Client, tmp_path: Path) -> None:
    path = sheets.csv_file(tmp_path / "doors.csv", sheets.PLAIN)
    for _ in range(7):
        hand_in(desk, path)
    assert IntakeDraft.objects.count() == 5


@pytest.mark.parametrize("role", ["crew", "inspector", "viewer"])
def test_others_see_the_revisions_but_take_nothing_in(job: Site, tmp_path: Path, role: str) -> None:
    other = signed_in(make.member(job, role))
    page = other.get("/s/clinic/schedule")
    assert page.status_code == 200
    assert 'type="file"' not in page.content.decode()
    answer = hand_in(other, sheets.csv_file(tmp_path / "doors.csv", sheets.PLAIN))
    assert answer.status_code == 403
    assert not IntakeDraft.objects.exists()


def test_a_stranger_and_a_colleague_find_no_held_file(job: Site, desk: Client, tmp_path: Path) -> None:
    hand_in(desk, sheets.csv_file(tmp_path / "doors.csv", sheets.PLAIN))
    address = f"/s/clinic/schedule/files/{IntakeDraft.objects.get().pk}"
    for person in (make.person(), make.member(job, "supervisor"), make.supervisor(make.site())):
        assert signed_in(person).get(address).status_code == 404
        assert signed_in(person).post(f"{address}/take-in").status_code == 404


def test_progress_is_told_as_a_figure(job: Site, desk: Client, tmp_path: Path) -> None:
    hand_in(desk, sheets.csv_file(tmp_path / "doors.csv", sheets.PLAIN))
    figure = desk.get(f"/s/clinic/schedule/files/{IntakeDraft.objects.get().pk}/progress").json()
    assert figure["done"] == figure["total"] > 0


def test_a_site_without_a_schedule_says_so(job: Site, desk: Client) -> None:
    assert "No schedule has been taken in yet" in words(desk.get("/s/clinic/schedule"))
