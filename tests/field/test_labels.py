"""Labels: read back from the printed sheet by another program, as a phone would read them."""

import re
import shutil
import subprocess
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from django.test import Client
from PIL import Image
from pypdf import PdfReader

from openings.models import Opening, Site
from sitetrack.field.label_grids import A4, GRIDS, INCH, LETTER, MM, Grid
from sitetrack.field.labels import MOST_LABELS, Label, label_of, label_sheets
from sitetrack.field.links import opening_link
from tests import builders as b
from tests.desk.looking import words as words_of

needs_reader = pytest.mark.skipif(
    not (shutil.which("zbarimg") and shutil.which("pdftoppm")), reason="needs zbar-tools and poppler-utils (Debian)"
)


def labels(count: int) -> list[Label]:
    return [
        Label(f"https://site.example/field/#/site/clinic/opening/{n}", str(n), ("Level 2", "RH")) for n in range(count)
    ]


def codes_read(pdf: bytes, grid: Grid, count: int, folder: Path) -> list[str]:
    """What a reader of QR codes finds on each label by itself, drawn at the 203 dots an inch of a plain printer."""
    (folder / "labels.pdf").write_bytes(pdf)
    subprocess.run(["pdftoppm", "-r", "203", "-gray", "labels.pdf", "sheet"], cwd=folder, check=True)
    (picture,) = folder.glob("sheet*.pgm")
    scale = 203 / INCH
    with Image.open(picture) as sheet:
        for place in range(count):
            left, bottom = grid.corner(place)
            top = grid.sheet[1] - bottom - grid.height
            box = (left, top, left + grid.width, top + grid.height)
            sheet.crop(tuple(round(side * scale) for side in box)).save(folder / f"label-{place:03}.png")
    read = subprocess.run(
        ["zbarimg", "--quiet", "--raw", "-Sdisable", "-Sqrcode.enable", *sorted(folder.glob("label-*.png"))],
        cwd=folder, check=True, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True,
    )  # fmt: skip
    return read.stdout.split()


@needs_reader
@pytest.mark.parametrize("name", GRIDS)
def test_every_code_on_a_full_sheet_is_read_by_another_program(name: str, tmp_path: Path) -> None:
    full = labels(GRIDS[name].each)
    read = codes_read(label_sheets(full, GRIDS[name]), GRIDS[name], len(full), tmp_path)
    assert read == [label.link for label in full]


@needs_reader
@pytest.mark.django_db
def test_a_label_opens_its_opening_whatever_its_number(tmp_path: Path) -> None:
    site = b.site("clinic")
    numbers = ["B1-2014", "101A/B", "12 #3", "Ñ-7", "X" * 40]
    made = [label_of(b.opening(site, number), site) for number in numbers]
    grid = GRIDS["letter-3x10"]
    read = codes_read(label_sheets(made, grid), grid, len(made), tmp_path)
    assert read == [opening_link("clinic", number) for number in numbers]


@pytest.mark.parametrize(("name", "grid"), GRIDS.items())
def test_labels_stand_on_the_sheet_and_not_on_each_other(name: str, grid: Grid) -> None:
    # ISO 216: A4 is 210 by 297 mm. ANSI/ASME Y14.1: size A is 8.5 by 11 in.
    assert grid.sheet == ((210 * MM, 297 * MM) if grid.paper == "A4" else (8.5 * INCH, 11 * INCH))
    corners = [grid.corner(place) for place in range(grid.each)]
    for x, y in corners:
        assert x >= -0.01
        assert y >= -0.01
        assert x + grid.width <= grid.sheet[0] + 0.01
        assert y + grid.height <= grid.sheet[1] + 0.01
    for at, (x, y) in enumerate(corners):
        for other_x, other_y in corners[:at]:
            assert abs(x - other_x) >= grid.width - 0.01 or abs(y - other_y) >= grid.height - 0.01


def test_grids_have_the_size_in_their_name() -> None:
    sizes = {name: (grid.width, grid.height) for name, grid in GRIDS.items()}
    assert sizes["letter-3x10"] == pytest.approx((2.625 * 72, 72))
    assert sizes["a4-3x7"] == pytest.approx((63.5 / 25.4 * 72, 38.1 / 25.4 * 72))
    assert {grid.sheet for grid in GRIDS.values()} == {A4, LETTER}


@pytest.mark.parametrize(("begin", "sheets"), [(0, 1), (1, 2), (29, 2)])
def test_a_sheet_begun_before_is_used_up(begin: int, sheets: int) -> None:
    pdf = PdfReader(BytesIO(label_sheets(labels(30), GRIDS["letter-3x10"], begin=begin)))
    assert len(pdf.pages) == sheets
    first = pdf.pages[0].extract_text().split()
    assert len([word for word in first if word.isdigit() and int(word) < 30 - begin]) >= 30 - begin


@pytest.mark.django_db
def test_a_label_says_number_floor_hand_and_size() -> None:
    site = b.site("clinic")
    opening = b.opening(site, "2014", on=b.floor(site, "L2", name="Second floor"))
    text = PdfReader(BytesIO(label_sheets([label_of(opening, site)], GRIDS["a4-plain"]))).pages[0].extract_text()
    for part in ("2014", "Second floor", "RH", "3'-0\" × 7'-0\"", "Site clinic"):
        assert part in text


@pytest.mark.django_db
def test_what_the_schedule_does_not_tell_is_not_on_the_label() -> None:
    site = b.site(units="metric")
    assert label_of(b.opening(site, hand="", width=None), site).lines == ("L1", site.name)
    assert label_of(b.opening(site), site).lines[1] == "RH · 914.4 mm × 2133.6 mm"


def test_a_long_number_is_made_to_fit() -> None:
    long = Label("https://site.example/", "W" * 40, ("L" * 200,))
    text = PdfReader(BytesIO(label_sheets([long], GRIDS["letter-3x10"]))).pages[0].extract_text()
    assert re.search(r"W{5,}…", text)
    assert re.search(r"L{5,}…", text)


@pytest.fixture
def job() -> Site:
    return b.site("clinic")


def ask(who: Any, query: str = "", site: str = "clinic", form: str = ".pdf") -> Any:
    client = Client()
    if who:
        client.force_login(who)
    return client.get(f"/s/{site}/labels{form}{query}")


@pytest.mark.django_db
def test_labels_of_chosen_floors_come_in_walking_order(job: Site) -> None:
    upper, lower = b.floor(job, "L2", level=2), b.floor(job, "L1", level=1)
    for number, on, walk in (("203", upper, 2), ("201", upper, 1), ("109", lower, 1), ("399", b.floor(job, "L3"), 1)):
        b.opening(job, number, on=on, walk=walk)
    b.opening(job, "205", on=upper, in_schedule=False)
    answer = ask(b.crew(job), f"?grid=a4-3x7&floor={upper.pk}&floor={lower.pk}")
    assert answer["Content-Type"] == "application/pdf"
    text = PdfReader(BytesIO(answer.content)).pages[0].extract_text()
    assert re.findall(r"^\d{3}$", text, re.MULTILINE) == ["109", "201", "203"]


@pytest.mark.django_db
def test_labels_of_chosen_numbers(job: Site) -> None:
    b.openings(job, 3)
    b.opening(job, "B1-2014")
    answer = ask(b.crew(job), "?grid=letter-plain&numbers=b1-2014,%0Anone")
    assert "B1-2014" in PdfReader(BytesIO(answer.content)).pages[0].extract_text()


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("query", "says"),
    [
        ("", "Choose one of the grids"),
        ("?grid=a4-3x7", "No opening was picked"),
        ("?grid=a4-3x7&floor=x", "No opening was picked"),
        ("?grid=a4-3x7&begin=22&numbers=1", "from 1 to 21"),
        ("?grid=a4-3x7&begin=-1&numbers=1", "from 1 to 21"),
        ("?grid=a4-3x7&begin=²&numbers=1", "from 1 to 21"),
    ],
)
def test_a_choice_that_can_t_be_printed_is_told_in_words_and_kept(job: Site, query: str, says: str) -> None:
    answer = ask(b.supervisor(job), query)
    assert answer.status_code == 422
    assert says in words_of(answer)


@pytest.mark.django_db
def test_more_labels_than_anyone_prints_are_refused(job: Site, monkeypatch: pytest.MonkeyPatch) -> None:
    assert MOST_LABELS == 3000
    monkeypatch.setattr("sitetrack.field.label_pages.MOST_LABELS", 2)
    numbers = ",".join(o.number for o in b.openings(job, 3))
    assert ask(b.supervisor(job), f"?grid=a4-3x7&numbers={numbers}").status_code == 422


@pytest.mark.django_db
def test_the_choice_offers_every_floor_and_grid(job: Site) -> None:
    b.opening(job, on=b.floor(job, "L2", name="Second floor"))
    text = words_of(ask(b.crew(job), form=""))
    for part in ("Second floor", "63.5 × 38.1 mm", "2 5/8 × 1 in", "plain paper to cut"):
        assert part in text


@pytest.mark.django_db
def test_labels_are_for_those_of_the_site(job: Site) -> None:
    number = b.opening(job).number
    for form in ("", ".pdf"):
        assert ask(b.supervisor(b.site()), f"?grid=a4-3x7&numbers={number}", form=form).status_code == 404
        assert ask(None, form=form).status_code == 302
    assert Opening.objects.count() == 1
