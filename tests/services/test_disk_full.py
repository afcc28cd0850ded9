"""The disk for uploads is full: photos wait, check-ins are stored, photos arrive once there is room."""

import contextlib
import hashlib
import io
import json
import subprocess
from collections.abc import Iterator
from pathlib import Path
from urllib.error import HTTPError
from urllib.request import Request, urlopen

import pytest
from PIL import Image

from inspections.models import CheckIn, CheckInPhoto, Photo
from sitetrack.kit.clock import now
from tests import builders as b
from tests.services.conftest import Processes
from tests.services.own_servers import not_here

pytestmark = [pytest.mark.services, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def small_disk(processes: Processes) -> Iterator[Path]:
    """Four megabytes for uploads, and no more."""
    place = Path(processes.environment["SITETRACK_DATA"]) / "uploads"
    place.mkdir()
    mounted = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", "size=4m", "tmpfs", place], check=False, capture_output=True, text=True
    )
    if mounted.returncode:
        not_here(f"needs to mount a small disk: {mounted.stderr.strip()}")
    yield place
    for name in list(processes.running):
        processes.kill(name)
    subprocess.run(["umount", place], check=True)


def put_photo(processes: Processes, token: str, content: bytes) -> tuple[int, dict]:
    digest = hashlib.sha256(content).hexdigest()
    headers = {"Authorization": f"Bearer {token}", "Content-Type": "image/jpeg"}
    request = Request(f"{processes.base}/api/v1/photos/{digest}", content, headers, method="PUT")
    try:
        with urlopen(request, timeout=60) as answer:
            return answer.status, json.load(answer)
    except HTTPError as answer:
        return answer.code, json.load(answer)


def test_a_full_disk_loses_neither_photo_nor_check_in(processes: Processes, small_disk: Path):
    made = io.BytesIO()
    Image.effect_noise((800, 600), 90).save(made, "JPEG", quality=90)
    content = made.getvalue()
    digest = hashlib.sha256(content).hexdigest()
    opening = b.opening(b.site())
    token = b.device(opening.site, b.crew(opening.site))[1]
    processes.start_web()
    filler = small_disk / "filler"
    with filler.open("wb", buffering=0) as file, contextlib.suppress(OSError):
        while True:
            file.write(bytes(4096))
    status, said = put_photo(processes, token, content)
    assert (status, said["type"]) == (507, "/problems/storage-full")
    assert "disk is full" in said["detail"]
    assert "tried again" in said["detail"]
    pushed = processes.push(token, b.batch(b.push_item(opening, photos=[digest], counter=1), device_time=now()))
    assert pushed[0]["outcome"] == "stored"
    assert list(CheckInPhoto.objects.values_list("digest", flat=True)) == [digest]
    assert Photo.objects.count() == 0
    assert [p.name for p in small_disk.rglob("*") if p.is_file()] == ["filler"], "nothing half-written is left"
    with urlopen(f"{processes.base}/readyz", timeout=10) as answer:
        assert json.load(answer)["status"] == "limping"
    filler.unlink()
    again = [put_photo(processes, token, content)[0] for _ in range(2)]
    assert again == [201, 200], "it arrives, and arriving again changes nothing"
    assert CheckIn.objects.count() == Photo.objects.count() == 1
    print(
        "\ndisk full: photo answered 507 in words, check-in stored; with room again the photo arrived at the next try"
    )
