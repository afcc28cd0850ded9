"""Photos: named by their content, sent as often as it takes, kept without what the camera adds, seen by few."""

import errno
import hashlib
import os
import random
import struct
import zlib
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from django.core.files.storage import default_storage
from PIL import Image, TiffImagePlugin
from PIL.ExifTags import GPS, IFD, Base
from PIL.PngImagePlugin import PngInfo

from inspections.models import CheckIn, CheckInPhoto, Photo
from inspections.services.photos import MOST_BYTES, photo_is_kept, photo_name, read_photo
from openings.models import Opening, Site
from sitetrack.access.models import Membership, Person
from sitetrack.kit.pictures import LONGEST_SIDE, MOST_PIXELS, drawn_anew, webp_size
from sitetrack.kit.problems import BadInput
from tests import builders as b
from tests.published_shapes import check_problem

pytestmark = pytest.mark.django_db

TYPES = {"JPEG": "image/jpeg", "PNG": "image/png", "WEBP": "image/webp"}


@pytest.fixture(autouse=True)
def _own_folder(settings: Any, tmp_path: Path) -> None:
    settings.MEDIA_ROOT = tmp_path


@pytest.fixture
def clinic() -> Site:
    return b.site("clinic")


@pytest.fixture
def opening(clinic: Site) -> Opening:
    return b.opening(clinic)


@pytest.fixture
def hand(clinic: Site) -> Person:
    return b.crew(clinic)


def picture(kind: str = "JPEG", size: tuple[int, int] = (64, 40), **saved: Any) -> bytes:
    """A picture with something on it."""
    image = Image.new("RGB", size, "white")
    image.paste("navy", (0, 0, size[0] // 2, size[1]))
    file = BytesIO()
    image.save(file, kind, **saved)
    return file.getvalue()


def sha(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()


def put(who: Person | None, content: bytes, *, digest: str = "", kind: str = "JPEG", **headers: Any) -> Any:
    address = f"/api/v1/photos/{digest or sha(content)}"
    return b.client(who).put(address, data=content, content_type=TYPES.get(kind, kind), **headers)


def files(settings: Any) -> list[str]:
    return sorted(str(p.relative_to(settings.MEDIA_ROOT)) for p in Path(settings.MEDIA_ROOT).rglob("*") if p.is_file())


@pytest.mark.parametrize("kind", TYPES)
def test_a_photo_is_kept_once_however_often_it_is_sent(hand: Person, kind: str, settings: Any) -> None:
    content = picture(kind)
    assert [put(hand, content, kind=kind).status_code for _ in range(3)] == [201, 200, 200]
    assert files(settings) == [f"photos/{sha(content)[:2]}/{sha(content)}.jpg"]
    kept = Photo.objects.get()
    assert (kept.digest, kept.width, kept.height, kept.sent_by) == (sha(content), 64, 40, hand)


def test_the_answer_says_what_was_kept(hand: Person) -> None:
    content = picture()
    answer = put(hand, content, HTTP_ACCEPT="application/json, application/problem+json").json()
    assert (answer["digest"], answer["width"], answer["height"]) == (sha(content), 64, 40)


def test_a_photo_damaged_on_its_way_is_not_kept(hand: Person, settings: Any) -> None:
    content = picture()
    check_problem(put(hand, content[:-1] + b"x", digest=sha(content)), 422, "bad-input")
    check_problem(put(hand, b"", digest=sha(content)), 422, "bad-input")
    assert files(settings) == []
    assert not Photo.objects.exists()


def with_place() -> bytes:
    exif = Image.Exif()
    exif[Base.Make] = "Camera of Ada"
    exif[Base.Orientation] = 6  # taken with the phone on its side
    exif.get_ifd(IFD.GPSInfo).update(
        {
            GPS.GPSLatitudeRef: "N",
            GPS.GPSLatitude: tuple(TiffImagePlugin.IFDRational(v) for v in (41, 52, 43)),
        }
    )
    return picture("JPEG", exif=exif, comment=b"42 Cedar Street", icc_profile=b"profile of Ada")


def test_where_it_was_taken_stays_behind(hand: Person) -> None:
    content = with_place()
    assert Image.open(BytesIO(content)).getexif().get_ifd(IFD.GPSInfo), "it was there"
    assert put(hand, content).status_code == 201
    kept = read_photo(sha(content))
    with Image.open(BytesIO(kept)) as image:
        assert (image.format, dict(image.getexif())) == ("JPEG", {})
        assert set(image.info) <= {"jfif", "jfif_version", "jfif_unit", "jfif_density"}
        assert image.size == (40, 64), "turned upright before the note of how it was held was left behind"
    for trace in (b"Ada", b"Cedar", b"Exif", b"GPS"):
        assert trace in content or trace == b"GPS"
        assert trace not in kept


def test_text_in_a_png_and_what_is_under_its_transparency_stay_behind(hand: Person) -> None:
    image = Image.new("RGBA", (20, 20), (255, 0, 0, 0))
    file = BytesIO()
    info = PngInfo()
    info.add_text("Author", "Ada Okafor")
    image.save(file, "PNG", pnginfo=info)
    kept = drawn_anew(file.getvalue())
    assert b"Ada" in file.getvalue()
    assert b"Ada" not in kept.content
    assert Image.open(BytesIO(kept.content)).getpixel((10, 10)) == (255, 255, 255)


def test_a_large_photo_is_made_smaller(hand: Person) -> None:
    kept = drawn_anew(picture("JPEG", (6000, 3000)))
    assert (kept.width, kept.height) == (LONGEST_SIDE, LONGEST_SIDE // 2)


def test_more_bytes_than_the_most_are_refused(hand: Person) -> None:
    content = random.Random(1).randbytes(MOST_BYTES + 1)
    check_problem(put(hand, content), 413, "too-large")


def png_claiming(width: int, height: int) -> bytes:
    """A few bytes that claim to be a picture of that size (the header chunk of W3C PNG, 11.2.1)."""
    header = b"IHDR" + struct.pack(">IIBBBBB", width, height, 8, 0, 0, 0, 0)
    pixels = b"IDAT" + zlib.compress(b"\0")
    return b"\x89PNG\r\n\x1a\n" + b"".join(
        struct.pack(">I", len(chunk) - 4) + chunk + struct.pack(">I", zlib.crc32(chunk))
        for chunk in (header, pixels, b"IEND")
    )


def webp_claiming(width: int, height: int) -> bytes:
    """The extended form of RFC 9649, 2.7, with its size one less than it is."""
    body = b"WEBPVP8X" + (10).to_bytes(4, "little") + bytes(4)
    body += (width - 1).to_bytes(3, "little") + (height - 1).to_bytes(3, "little")
    return b"RIFF" + len(body).to_bytes(4, "little") + body


CLAIMS = [
    (png_claiming, (8000, 5001)),
    (png_claiming, (16_000, 16_000)),
    (png_claiming, (60_000, 60_000)),
    (webp_claiming, (8000, 5001)),
    (webp_claiming, (16_000, 16_000)),
]


@pytest.mark.parametrize(("claims", "size"), CLAIMS)
def test_pixels_are_counted_before_anything_is_decoded(
    claims: Any, size: tuple[int, int], monkeypatch: pytest.MonkeyPatch
) -> None:
    assert size[0] * size[1] > MOST_PIXELS
    monkeypatch.setattr(Image.Image, "load", lambda *_: pytest.fail("decoded"))
    with pytest.raises(BadInput, match="million pixels"):
        drawn_anew(claims(*size))


@pytest.mark.parametrize(
    "saved", [{"lossless": False}, {"lossless": True}, {"lossless": False, "exif": b"Exif\0\0II*\0"}]
)
def test_the_size_of_a_webp_is_read_from_its_head(saved: dict[str, Any]) -> None:
    content = picture("WEBP", (321, 123), **saved)
    assert webp_size(content) == Image.open(BytesIO(content)).size == (321, 123)


@pytest.mark.parametrize("kind", ["GIF", "TIFF", "BMP", "ICO", "PPM"])
def test_other_kinds_of_picture_are_no_photos(hand: Person, kind: str) -> None:
    content = picture(kind, (32, 32))
    check_problem(put(hand, content), 422, "bad-input")
    check_problem(put(hand, content, kind=f"image/{kind.lower()}"), 415)


@pytest.mark.parametrize(
    "content", [b"x", b"<svg onload='x'/>", picture()[:200], picture("PNG")[:60], b"RIFF0000WEBPVP8 " + bytes(30)]
)
def test_what_can_t_be_read_whole_is_refused_in_words(hand: Person, content: bytes, settings: Any) -> None:
    check_problem(put(hand, content), 422, "bad-input")
    assert files(settings) == []


@pytest.mark.parametrize("address", ["ab", "A" * 64, "g" * 64, "..%2f" * 10, "a" * 65])
def test_an_address_that_is_no_digest_is_nowhere(hand: Person, address: str) -> None:
    check_problem(b.client(hand).get(f"/api/v1/photos/{address}"), 404)


@pytest.mark.parametrize("error", [errno.ENOSPC, errno.EDQUOT])
def test_a_full_disk_is_said_and_leaves_nothing_half_written(
    hand: Person, settings: Any, monkeypatch: pytest.MonkeyPatch, error: int
) -> None:
    def full(_: int) -> None:
        raise OSError(error, os.strerror(error))

    monkeypatch.setattr(os, "fsync", full)
    check_problem(put(hand, picture()), 507, "storage-full")
    assert files(settings) == []
    assert not Photo.objects.exists()
    monkeypatch.undo()
    assert put(hand, picture()).status_code == 201, "sent again once there is room"


def test_a_photo_whose_file_was_lost_is_taken_again(hand: Person) -> None:
    content = picture()
    put(hand, content)
    default_storage.delete(photo_name(sha(content)))
    assert put(hand, content).status_code == 200
    assert photo_is_kept(sha(content))


def test_those_who_only_look_send_none(clinic: Site) -> None:
    check_problem(put(b.viewer(clinic), picture()), 403, "forbidden")
    check_problem(put(b.person(), picture()), 403, "forbidden")
    check_problem(put(None, picture()), 401)


def test_a_hand_whose_time_on_the_site_ended_may_still_send_what_was_taken_before(hand: Person) -> None:
    Membership.objects.filter(person=hand).update(ended_at=b.MONDAY)
    assert put(hand, picture()).status_code == 201


def test_a_photo_is_seen_by_those_who_may_see_its_check_in(clinic: Site, opening: Opening, hand: Person) -> None:
    content = picture()
    colleague = b.crew(clinic, company_=Membership.objects.get(person=hand).company)
    address = f"/api/v1/photos/{sha(content)}"
    put(hand, content)
    check_problem(b.client(hand).get(address), 404)  # until a check-in names it there is no telling who may
    b.check_in(hand, opening, photos=(sha(content),))
    for who in (hand, colleague, b.supervisor(clinic), b.inspector(clinic), b.viewer(clinic)):
        answer = b.client(who).get(address)
        assert (answer.status_code, answer["Content-Type"]) == (200, "image/jpeg")
        assert Image.open(BytesIO(answer.content)).size == (64, 40)
        head = b.client(who).head(address)
        assert (head.status_code, head.content) == (200, b"")
    for who in (b.crew(clinic, "drywall"), b.supervisor(b.site())):
        check_problem(b.client(who).get(address), 404, "not-found")
    check_problem(b.client().get(address), 401)


def test_a_phone_fetches_photos_of_its_own_site_only(clinic: Site, hand: Person) -> None:
    depot = b.site()
    Membership.objects.create(site=depot, person=hand, company=b.company(), role="supervisor")
    content = picture()
    put(hand, content)
    b.check_in(hand, b.opening(depot), photos=(sha(content),))
    _, token = b.device(clinic, hand)
    address = f"/api/v1/photos/{sha(content)}"
    check_problem(b.client(token=token).get(address), 404)
    assert b.client(hand).get(address).status_code == 200


def test_a_browser_may_do_nothing_with_it_but_show_it(opening: Opening, hand: Person) -> None:
    content = picture()
    put(hand, content)
    b.check_in(hand, opening, photos=(sha(content),))
    answer = b.client(hand).get(f"/api/v1/photos/{sha(content)}", HTTP_ACCEPT="image/avif,image/webp,*/*;q=0.8")
    assert answer["X-Content-Type-Options"] == "nosniff"
    assert "sandbox" in answer["Content-Security-Policy"]
    assert answer["Cache-Control"].startswith("private")


def test_a_check_in_whose_photo_never_comes_stands_and_is_marked(opening: Opening, hand: Person) -> None:
    content, never = picture(), "ab" * 32
    check_in = b.check_in(hand, opening, photos=(sha(content), never))
    assert CheckIn.objects.get(pk=check_in.pk).photos == [sha(content), never]
    put(hand, content)
    api = b.client(b.supervisor(opening.site))
    (row,) = api.get("/api/v1/photos?arrived=false").json()["results"]
    assert (row["digest"], row["number"], row["arrived"]) == (never, opening.number, False)
    (row,) = api.get(f"/api/v1/photos?arrived=true&check_in={check_in.pk}").json()["results"]
    assert row["digest"] == sha(content)


def test_one_photo_named_by_two_check_ins_is_one_photo(opening: Opening, hand: Person) -> None:
    content = picture()
    for stage in ("receive", "match"):
        b.check_in(hand, opening, stage, "note", photos=(sha(content),))
    put(hand, content)
    assert (CheckInPhoto.objects.count(), Photo.objects.count()) == (2, 1)
