"""The shell: every file the phone needs to work without a network, each with its digest.

The worker on the phone takes a shell whole or not at all. While a new release is being rolled out one file may come
from the old server and the next from the new one; the digests catch that, and the phone keeps the shell it has.
"""

import base64
import hashlib
import json
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from django.conf import settings
from django.template.loader import render_to_string
from django.templatetags.static import static
from django.urls import reverse

FOLDER = Path(__file__).parent / "static" / "field"
WORKER_SOURCE = Path(__file__).parent / "worker.js"
# Pictures are not read before the page is, so they are kept too but not counted in the first load.
PICTURES = frozenset({".png", ".svg"})


@dataclass(frozen=True, slots=True)
class Shell:
    """The page, its files by address with the SHA-256 of each, and a version that changes when any of them does."""

    page: str
    files: dict[str, str]
    version: str

    def worker_script(self) -> str:
        """The worker's source with this shell's list in front, so that a changed file makes a changed worker."""
        listed = json.dumps({"version": self.version, "page": reverse("field:app"), "files": self.files}, indent=1)
        return f"const SHELL = {listed};\n\n{WORKER_SOURCE.read_text(encoding='utf-8')}"


def current_shell() -> Shell:
    """The shell of the release that runs; read anew each time only while developing."""
    return _read_shell() if settings.DEBUG else _kept_shell()


def shell_files() -> list[Path]:
    """Every static file of the shell, in a fixed order."""
    return sorted(path for path in FOLDER.iterdir() if path.is_file())


def _read_shell() -> Shell:
    page = render_to_string("field/app.html", {"files": static("field/")})
    files = {reverse("field:app"): _digest(page.encode())}
    for path in shell_files():
        # Not by `static(name)`: modules import each other by plain names, so plain names are what a page will ask for.
        files[f"{static('field/')}{path.name}"] = _digest(path.read_bytes())
    manifest = reverse("field:manifest")
    files[manifest] = _digest(manifest_text().encode())
    version = hashlib.sha256(json.dumps([files, WORKER_SOURCE.read_text(encoding="utf-8")]).encode()).hexdigest()[:12]
    return Shell(page, files, version)


@cache
def _kept_shell() -> Shell:
    return _read_shell()


def manifest_text() -> str:
    """The web app manifest (W3C Web Application Manifest)."""
    here = reverse("field:app")
    icons = [
        {"src": static("field/icon.svg"), "sizes": "any", "type": "image/svg+xml"},
        {"src": static("field/icon-192.png"), "sizes": "192x192", "type": "image/png", "purpose": "any"},
        {"src": static("field/icon-512.png"), "sizes": "512x512", "type": "image/png", "purpose": "any maskable"},
    ]
    return json.dumps(
        {
            "id": here,
            "name": "Sitetrack",
            "short_name": "Sitetrack",
            "start_url": here,
            "scope": here,
            "display": "standalone",
            "orientation": "portrait",
            "background_color": "#fbfaf5",
            "theme_color": "#fbfaf5",
            "icons": icons,
        }
    )


def _digest(content: bytes) -> str:
    return base64.b64encode(hashlib.sha256(content).digest()).decode()
