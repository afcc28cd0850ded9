"""A floor's plan: its picture, its scale, the openings set down on it, and who may."""

from io import BytesIO
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from PIL import Image
from reportlab.pdfgen.canvas import Canvas

from openings.models import FloorPlan, Opening, Site
from openings.services.floor_plans import Scale, put_to_scale
from sitetrack.access.models import RecordedChange
from sitetrack.access.roles import Role
from sitetrack.kit.lengths import parse_length
from sitetrack.kit.problems import Conflict
from tests import builders as make
from tests.desk.looking import signed_in, words

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _uploads(settings: Any, tmp_path: Any) -> None:
    settings.MEDIA_ROOT = tmp_path / "uploads"


def picture(size: tuple[int, int] = (400, 200), kind: str = "PNG") -> bytes:
    file = BytesIO()
    Image.new("RGB", size, "white").save(file, kind)
    return file.getvalue()


def pdf(pages: int = 3) -> bytes:
    """Pages each wider than the last, so that the one drawn can be told by its shape."""
    file = BytesIO()
    canvas = Canvas(file)
    for n in range(1, pages + 1):
        canvas.setPageSize((200 * n, 200))
        canvas.drawString(20, 20, f"sheet {n}")
        canvas.showPage()
    canvas.save()
    return file.getvalue()


def send(client: Client, opening: Opening, content: bytes, **more: Any) -> Any:
    upload = SimpleUploadedFile("plan.bin", content)
    return client.post(f"{base(opening)}/plan/send", {"file": upload, **more})


def base(opening: Opening) -> str:
    return f"/s/{opening.site.code}/floors/{opening.floor_id}"


def to_scale(client: Client, on: Opening, **typed: Any) -> Any:
    points = {"first_x": 0, "first_y": 100, "second_x": 400, "second_y": 100, "distance": "40 m"}
    return client.post(f"{base(on)}/plan/scale", points | typed)


def test_a_picture_is_drawn_anew_and_served_to_the_site_only(job: Site, desk: Client) -> None:
    opening = make.opening(job)
    assert send(desk, opening, picture(kind="JPEG")).status_code == 302
    served = desk.get(f"{base(opening)}/plan/picture")
    assert served["Content-Type"] == "image/webp"
    assert Image.open(BytesIO(served.content)).size == (400, 200)
    tag = served["ETag"]
    assert desk.get(f"{base(opening)}/plan/picture", headers={"If-None-Match": tag}).status_code == 304
    stranger = signed_in(make.supervisor(make.site("depot")))
    assert stranger.get(f"{base(opening)}/plan/picture").status_code == 404
    assert signed_in(make.crew(job)).get(f"{base(opening)}/plan/picture").status_code == 200


def test_a_page_of_a_pdf_is_chosen_and_another_after_it(job: Site, desk: Client) -> None:
    opening = make.opening(job)
    send(desk, opening, pdf(), page="2")
    plan = FloorPlan.objects.get()
    assert (plan.page, plan.pages, round(plan.width / plan.height)) == (2, 3, 2)
    desk.post(f"{base(opening)}/plan/page", {"page": "3"})
    plan.refresh_from_db()
    assert (plan.page, round(plan.width / plan.height)) == (3, 3)
    refused = desk.post(f"{base(opening)}/plan/page", {"page": "4"})
    assert refused.status_code == 422
    assert "there is no page 4" in words(refused)


@pytest.mark.parametrize("content", [b"%PDF-1.7 nonsense", b"GIF89a", b"", b"<svg/>"])
def test_what_is_no_plan_is_refused_in_words(job: Site, desk: Client, content: bytes) -> None:
    opening = make.opening(job)
    answer = send(desk, opening, content)
    assert answer.status_code == 422
    assert 'role="alert"' in answer.content.decode()
    assert not FloorPlan.objects.exists()


def test_two_points_and_their_distance_put_it_to_scale(job: Site, desk: Client) -> None:
    """400 px are 40 m, so a pixel is 0.1 m; the lower left corner is where metres begin."""
    opening = make.opening(job)
    send(desk, opening, picture())
    assert to_scale(desk, opening).status_code == 302
    assert FloorPlan.objects.get().metres_per_px == pytest.approx(0.1)


def test_openings_move_with_a_picture_whose_scale_was_wrong(job: Site, desk: Client) -> None:
    opening = make.opening(job, x=10.0, y=5.0)
    send(desk, opening, picture())
    to_scale(desk, opening)
    plan = FloorPlan.objects.get()
    scale = Scale((0, 100), (400, 100), parse_length("80 m"), with_openings=True)
    put_to_scale(plan=plan, scale=scale, who=make.supervisor(job), now=make.MONDAY)
    opening.refresh_from_db()
    assert (opening.x, opening.y) == (pytest.approx(20), pytest.approx(10))


def test_an_opening_known_from_the_model_holds_the_picture(job: Site, desk: Client) -> None:
    """The first point, at 0 px from the left and 100 of 200 from the top, is where the opening stands."""
    opening = make.opening(job, "101", x=1000.0, y=500.0)
    send(desk, opening, picture())
    to_scale(desk, opening, opening="101")
    plan = FloorPlan.objects.get()
    assert (plan.left, plan.bottom) == (pytest.approx(1000), pytest.approx(490))


@pytest.mark.parametrize(
    ("typed", "field", "said"),
    [
        ({"distance": "far"}, "distance", "can’t be read|can&#x27;t be read"),
        ({"distance": "0"}, "distance", "more than zero"),
        ({"distance": "1 mm"}, "distance", "Check the distance"),
        ({"second_x": 2}, "second_x", "lie on each other"),
        ({"first_x": 900}, "first_x", "off the picture"),
        ({"first_x": "nan"}, "first_x", "Enter a number"),
        ({"opening": "zzz"}, "opening", "No opening of this floor"),
    ],
)
def test_a_scale_that_cannot_be_is_told_beside_its_field(
    job: Site, desk: Client, typed: dict[str, Any], field: str, said: str
) -> None:
    opening = make.opening(job)
    send(desk, opening, picture())
    answer = to_scale(desk, opening, **typed)
    assert answer.status_code == 422
    assert any(part in answer.content.decode() for part in said.split("|"))
    assert list(answer.context["form"].errors) == [field]
    assert FloorPlan.objects.get().metres_per_px is None


def test_positions_by_numbers_and_their_undo(job: Site, desk: Client) -> None:
    opening = make.opening(job)
    form = {f"v-{opening.pk}": opening.version, f"x-{opening.pk}": "41'-0\"", f"y-{opening.pk}": "10 m"}
    page = desk.post(f"{base(opening)}/positions", form, follow=True)
    opening.refresh_from_db()
    assert (opening.x, opening.y) == (pytest.approx(41 * 12 * 0.0254), pytest.approx(10))
    assert "1 opening moved." in words(page)
    (undo,) = list(page.context["messages"])
    moved_at = opening.changed_at.isoformat()
    assert moved_at in undo.extra_tags
    desk.post(f"{base(opening)}/positions/back", {"moved_at": moved_at})
    opening.refresh_from_db()
    assert (opening.x, opening.y) == (None, None)


def test_what_is_shown_rounded_and_left_alone_stays_exact(job: Site, desk: Client) -> None:
    opening = make.opening(job, x=1.23456, y=2.34567)
    row = desk.get(f"{base(opening)}/plan?step=positions").context["rows"][0]
    form = {f"v-{opening.pk}": opening.version, f"x-{opening.pk}": row.x, f"y-{opening.pk}": "9 m"}
    desk.post(f"{base(opening)}/positions", form)
    opening.refresh_from_db()
    assert (opening.x, opening.y) == (1.23456, pytest.approx(9))


def test_one_wrong_line_moves_nothing_and_loses_nothing(job: Site, desk: Client) -> None:
    one, other = make.opening(job), make.opening(job)
    form = {f"v-{o.pk}": o.version for o in (one, other)}
    form |= {f"x-{one.pk}": "3 m", f"y-{one.pk}": "4 m", f"x-{other.pk}": "5 m", f"y-{other.pk}": "up there"}
    answer = desk.post(f"{base(one)}/positions", form)
    assert answer.status_code == 422
    assert "up there" in answer.content.decode()
    assert "3 m" in answer.content.decode()
    one.refresh_from_db()
    assert one.x is None


def test_the_script_sets_moves_and_takes_off(job: Site, desk: Client) -> None:
    opening = make.opening(job)

    def drop(text: str, version: int) -> Any:
        form = {f"v-{opening.pk}": version, f"m-{opening.pk}": text}
        return desk.post(f"{base(opening)}/positions", form, headers={"Accept": "application/json"})

    (kept,) = drop("1.5 -2", 1).json()["moved"]
    assert (kept["x"], kept["y"], kept["version"]) == (1.5, -2.0, 2)
    assert drop("9 9", 1).status_code == 409, "somebody moved it meanwhile"
    assert drop("nan 1", 2).status_code == 422
    assert drop("1e30 1", 2).status_code == 422
    assert drop("", 2).json()["moved"][0]["x"] is None


def test_an_undo_after_another_move_is_refused(job: Site) -> None:
    from openings.services.positions import set_positions, take_back_positions

    opening, who = make.opening(job), make.supervisor(job)
    for n, at in ((1.0, make.MONDAY), (2.0, make.MONDAY + make.MINUTE)):
        opening.refresh_from_db()
        spots, versions = {opening.pk: (n, n)}, {opening.pk: opening.version}
        set_positions(floor=opening.floor, spots=spots, versions=versions, who=who, now=at)
    with pytest.raises(Conflict):
        take_back_positions(floor=opening.floor, moved_at=make.MONDAY, who=who, now=make.MONDAY + make.MINUTE * 2)


def test_a_picture_taken_away_is_put_back_with_its_scale(job: Site, desk: Client) -> None:
    opening = make.opening(job, x=10.0, y=5.0)
    send(desk, opening, picture())
    to_scale(desk, opening)
    page = desk.post(f"{base(opening)}/plan/away", follow=True)
    *_, undo = page.context["messages"]
    assert f"{base(opening)}/plan/back" in undo.extra_tags
    assert desk.get(f"{base(opening)}/plan/picture").status_code == 404
    assert "plan-picture" not in desk.get(base(opening)).content.decode()
    assert to_scale(desk, opening).status_code == 404
    desk.post(f"{base(opening)}/plan/back")
    assert desk.get(f"{base(opening)}/plan/picture").status_code == 200
    assert "plan-picture" in desk.get(base(opening)).content.decode()
    trail = RecordedChange.objects.filter(kind="floor-plan").order_by("pk").values_list("act", flat=True)
    assert list(trail)[-2:] == ["removed", "restored"]
    assert "The picture is back" not in words(desk.post(f"{base(opening)}/plan/back", follow=True)), "once only"


def test_another_picture_takes_the_place_of_one_taken_away(job: Site, desk: Client) -> None:
    opening = make.opening(job)
    send(desk, opening, picture())
    desk.post(f"{base(opening)}/plan/away")
    other = signed_in(make.member(job, Role.SUPERVISOR))
    other.post(f"{base(opening)}/plan/back")
    assert desk.get(f"{base(opening)}/plan/picture").status_code == 404, "only whoever took it away takes that back"
    send(desk, opening, picture((300, 300)))
    assert desk.get(f"{base(opening)}/plan/picture").status_code == 200
    assert FloorPlan.objects.get().width == 300


@pytest.mark.parametrize("role", [Role.INSPECTOR, Role.CREW, Role.VIEWER])
def test_only_a_supervisor_sets_plans_and_positions(job: Site, desk: Client, role: str) -> None:
    opening = make.opening(job)
    send(desk, opening, picture())
    client = signed_in(make.member(job, role))
    assert client.get(f"{base(opening)}/plan?step=positions").status_code == 200
    assert send(client, opening, picture()).status_code == 403
    client.post(f"{base(opening)}/plan/away")
    client.post(
        f"{base(opening)}/plan/scale", {"first_x": 0, "first_y": 0, "second_x": 9, "second_y": 90, "distance": "9"}
    )
    client.post(f"{base(opening)}/positions", {f"v-{opening.pk}": 1, f"m-{opening.pk}": "1 1"})
    opening.refresh_from_db()
    assert opening.x is None
    assert FloorPlan.objects.get().metres_per_px is None


def test_the_plan_lies_under_the_marks_of_the_floor(job: Site, desk: Client) -> None:
    opening = make.opening(job, x=10.0, y=5.0)
    send(desk, opening, picture())
    assert "plan-picture" not in desk.get(base(opening)).content.decode()
    to_scale(desk, opening)
    assert "plan-picture" in desk.get(base(opening)).content.decode()


def test_the_plan_asks_as_many_questions_for_thirty_as_for_three(job: Site, desk: Client) -> None:
    def asked() -> int:
        with CaptureQueriesContext(connection) as queries:
            assert desk.get(f"{base(opening)}/plan?step=positions").status_code == 200
        return len(queries)

    opening = make.openings(job, 3, x=1.0, y=1.0)[0]
    asked()
    few = asked()
    make.openings(job, 27)
    assert asked() == few
