"""The weekly status on paper. Outside check: pypdf reads the text and the sheets back."""

import json
from datetime import timedelta

import pypdf
import pytest

from sitetrack.reports.edition import edition_of
from sitetrack.reports.keeping import issue_status
from sitetrack.reports.making import Format, make_status
from tests import builders as make
from tests.reports.story import AFTER, CUT_OFF, WEEK, job

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _media(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path / "media"


def printed(site, folder, form=Format.LETTER, **asked):
    """The text of each sheet, and the JSON of the same figures."""
    made = make_status(site=site, week=WEEK, now=AFTER, folder=folder, formats=[form, Format.JSON], **asked)
    pdf, document = sorted(made.files, key=lambda path: path.suffix == ".json")
    sheets = [" ".join(page.extract_text().split()) for page in pypdf.PdfReader(pdf).pages]
    return sheets, json.loads(document.read_text("utf-8")), made


def test_it_prints_the_figures_of_the_json(tmp_path):
    sheets, document, _ = printed(job().site, tmp_path)
    for row in document["tables"]["summary"]["rows"]:
        said = [document["words"]["figure"][row["figure"]], row["this_week"], row["last_week"], row["change"]]
        assert " ".join(map(str, said)) in sheets[0]
    for row in document["tables"]["companies"]["rows"][:1]:
        assert "[shrkh l'bwb]" in sheets[1]
        assert str(row["check_ins"]) in sheets[1]


def test_every_opening_stands_on_the_floor_sheets_and_every_failed_item_among_the_exceptions(tmp_path):
    sheets, document, _ = printed(job().site, tmp_path)
    for row in document["tables"]["openings"]["rows"]:
        assert row["opening"] in sheets[2]
    rest = "\n".join(sheets[2:])
    failed = [row for row in document["tables"]["checks"]["rows"] if row["item_verdict"] == "fail"]
    assert failed
    for row in failed:
        assert row["as_read"] in rest
        assert row["margin"] in rest
    assert "-2+3 wrong hand" in rest


def test_a_floor_whose_positions_are_known_is_drawn_with_the_numbers_of_those_that_need_a_look(tmp_path):
    story = job()
    on = make.floor(story.site, "L3", level=3)
    at = {"301": (0.0, 0.0), "302": (30.0, 0.0), "303": (0.0, 12.0), "304": (30.0, 12.0)}
    for number, (x, y) in at.items():
        opening = make.opening(story.site, number, on=on, x=x, y=y)
        if number != "301":
            make.check_in(story.crew, opening, "receive", "hold", at=CUT_OFF - timedelta(hours=8), note="no")
    made = make_status(site=story.site, week=WEEK, now=AFTER, folder=tmp_path, formats=[Format.LETTER])
    found: dict[str, list[tuple[float, float]]] = {number: [] for number in at}

    def note(text, _current, matrix, _font, _size):
        if text.strip() in found:
            found[text.strip()].append((matrix[4], matrix[5]))

    pypdf.PdfReader(made.files[0]).pages[2].extract_text(visitor_text=note)
    assert {number: len(spots) for number, spots in found.items()} == {"301": 1, "302": 2, "303": 2, "304": 2}
    east, north, both = (max(found[number], key=lambda spot: spot[1]) for number in ("302", "303", "304"))
    assert north[0] < both[0]
    assert east[1] < both[1]
    # North is up and to scale: 30 m across are as many times 12 m up as they should be.
    assert (both[0] - north[0]) / (both[1] - east[1]) == pytest.approx(30 / 12, rel=0.02)


def test_every_sheet_says_its_number_the_job_the_week_and_the_digest(tmp_path):
    sheets, _, made = printed(job().site, tmp_path)
    for number, sheet in enumerate(sheets, 1):
        assert f"Sheet {number} of {len(sheets)}" in sheet
        assert "Site clinic (clinic)" in sheet
        assert str(WEEK) in sheet
        assert made.digest in sheet


def test_a_site_in_spanish_prints_in_spanish_on_a4_where_it_measures_in_millimetres(tmp_path):
    sheets, _, made = printed(job(language="es", units="metric").site, tmp_path, Format.PDF)
    said = "\n".join(sheets)
    for english in ("Summary", "Exceptions", "Coming", "Sheet 1", "None.", "Due on"):
        assert english not in said
    assert "Cambiar" not in said  # what a button says; the column is of differences
    assert "Cambio" in sheets[0]
    page = pypdf.PdfReader(made.files[-1] if made.files[-1].suffix == ".pdf" else made.files[0]).pages[0]
    assert round(page.mediabox[2]) == 595


def test_the_same_figures_print_the_same_bytes(tmp_path):
    site = job().site
    prints = [printed(site, tmp_path / name)[2].files for name in ("a", "b")]
    assert [p.read_bytes() for p in prints[0]] == [p.read_bytes() for p in prints[1]]


def test_a_big_job_stays_within_eight_sheets(tmp_path):
    story = job()
    for level in range(3, 30):
        floor = make.floor(story.site, f"L{level}", level=level)
        for opening in make.openings(story.site, 20, on=floor):
            del opening
    for opening in make.openings(story.site, 12, on=story.high):
        make.work_up_to(opening, "anchor")
        make.frame_check(story.crew, opening, at=CUT_OFF - timedelta(hours=9), readings=make.TWISTED_READINGS)
        make.check_in(story.crew, opening, "receive", "hold", at=CUT_OFF - timedelta(hours=8), note="wrong " * 80)
    sheets, _, _ = printed(story.site, tmp_path)
    assert 4 <= len(sheets) <= 8
    assert "more in the workbook" in "\n".join(sheets)
    assert "Floors not drawn here" in "\n".join(sheets)


def test_a_figure_that_came_to_differ_from_the_one_issued_is_marked_restated(tmp_path):
    story = job()
    issue_status(site=story.site, week=WEEK.shifted(-1), now=AFTER)
    _, document, _ = printed(story.site, tmp_path / "a")
    assert [row for row in document["tables"]["summary"]["rows"] if row["restated"]] == []
    make.opening(story.site, "999")  # entered without a date, as if it had always been there
    sheets, document, _ = printed(story.site, tmp_path / "b")
    restated = {row["figure"]: row for row in document["tables"]["summary"]["rows"] if row["restated"]}
    assert set(restated) == {"openings", "total", "percent"}
    assert restated["openings"]["issued_last"] == restated["openings"]["last_week"] - 1
    assert "Restated" in sheets[0]


def test_the_edition_of_a_company_prints_no_other_companys_name(tmp_path, settings):
    story = job()
    other = make.crew(story.site, "drywall")
    make.check_in(other, story.done, "board", "start", at=make.MONDAY + timedelta(hours=9))
    firm = other.memberships.get().company
    sheets, _, _ = printed(story.site, tmp_path, edition=edition_of(story.site, firm))
    said = "\n".join(sheets)
    assert firm.name in said
    assert "shrkh" not in said
