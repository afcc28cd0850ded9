"""The shell: what the phone is given to keep is whole, proved and small."""

import base64
import gzip
import hashlib
import json
import re
from pathlib import Path
from typing import Any

import pytest
from django.contrib.staticfiles import finders
from django.test import Client

from sitetrack.field import shell as shell_module
from sitetrack.field.links import enrolment_link, opening_link
from sitetrack.field.shell import PICTURES, current_shell, shell_files

FIRST_LOAD_BUDGET = 100_000


def served(client: Client, address: str) -> bytes:
    """What a phone gets at an address of the shell."""
    if address.startswith("/static/"):
        found = finders.find(address.removeprefix("/static/"))
        assert found, address
        return Path(found).read_bytes()
    return client.get(address).content


def test_every_file_of_the_shell_is_served_as_its_digest_says(client: Client) -> None:
    shell = current_shell()
    assert len(shell.files) > 30
    for address, digest in shell.files.items():
        found = base64.b64encode(hashlib.sha256(served(client, address)).digest()).decode()
        assert found == digest, address


def test_first_load_is_under_budget_compressed(client: Client) -> None:
    sizes = {
        address: len(gzip.compress(served(client, address), 6))
        for address in [*current_shell().files, "/field/worker.js"]
        if Path(address).suffix not in PICTURES
    }
    assert 20_000 < sum(sizes.values()) < FIRST_LOAD_BUDGET


def test_every_module_that_is_imported_is_in_the_shell() -> None:
    names = {path.name for path in shell_files()}
    for path in shell_files():
        if path.suffix == ".js":
            imported = set(re.findall(r'from "\./([^"]+)"', path.read_text(encoding="utf-8")))
            assert imported <= names, path.name


def test_no_module_is_left_that_nothing_imports() -> None:
    sources = {path.name: path.read_text(encoding="utf-8") for path in shell_files() if path.suffix == ".js"}
    imported = {name for text in sources.values() for name in re.findall(r'from "\./([^"]+)"', text)}
    assert set(sources) - imported == {"app.js"}


def test_modules_keep_the_sizes_of_the_house() -> None:
    for path in shell_files():
        if path.suffix in {".js", ".css"} and not path.name.startswith("words_"):
            assert len(path.read_text(encoding="utf-8").splitlines()) <= 300, path.name


# What an iPhone of a few years ago can't read at all, or lacks, and a page that uses it would stay white there.
TOO_NEW = {
    r"\(\?<[!=]": "look-behind in an expression",
    r"\bSyncManager\b|\.sync\.register": "sending in the background",
    r"\brequestIdleCallback\b|\bObject\.groupBy\b|\bArray\.fromAsync\b|\bPromise\.withResolvers\b": "newer calls",
    r"\.toSorted\(|\.toReversed\(|\.findLast\(|\bisWellFormed\(\)": "newer methods",
    r"^import .* with \{|^await ": "newer modules",
}


def test_nothing_is_used_that_older_phones_lack() -> None:
    for path in shell_files():
        if path.suffix == ".js":
            text = path.read_text(encoding="utf-8")
            found = [what for pattern, what in TOO_NEW.items() if re.search(pattern, text, re.MULTILINE)]
            assert found == [], path.name


def test_lines_keep_the_length_of_the_house() -> None:
    for path in [*shell_files(), shell_module.WORKER_SOURCE]:
        if path.suffix == ".js" and "words" not in path.name:
            long = [n for n, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1) if len(line) > 120]
            assert long == [], path.name


def test_a_changed_file_makes_another_version(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, settings: Any) -> None:
    settings.DEBUG = True
    for path in shell_files():
        (tmp_path / path.name).write_bytes(path.read_bytes())
    monkeypatch.setattr(shell_module, "FOLDER", tmp_path)
    before = current_shell()
    (tmp_path / "app.js").write_text("// changed\n")
    after = current_shell()
    assert before.version != after.version
    assert before.worker_script() != after.worker_script()


def test_page_runs_under_a_policy_without_anything_inline(client: Client) -> None:
    answer = client.get("/field/")
    policy = answer.headers["Content-Security-Policy"]
    assert "unsafe" not in policy
    assert "default-src 'none'" in policy
    text = answer.content.decode()
    assert not re.search(r"<style|style=|<script(?![^>]*src=)|\son\w+=", text)


def test_worker_is_never_kept_by_a_cache_and_reigns_over_the_phone_pages_only(client: Client) -> None:
    answer = client.get("/field/worker.js")
    assert answer.headers["Cache-Control"] == "no-cache"
    assert answer.headers["Content-Type"].startswith("text/javascript")
    assert f'"{current_shell().version}"' in answer.content.decode()


def test_manifest_makes_the_page_installable(client: Client) -> None:
    """The members that the W3C Web Application Manifest names; its start lies in its scope."""
    manifest = json.loads(client.get("/field/manifest.webmanifest").content)
    assert manifest["start_url"].startswith(manifest["scope"])
    assert manifest["display"] == "standalone"
    assert {"192x192", "512x512"} <= {icon["sizes"] for icon in manifest["icons"]}
    for icon in manifest["icons"]:
        assert finders.find(icon["src"].removeprefix("/static/"))


def test_page_is_the_same_for_everyone(client: Client, db: None) -> None:
    spanish = Client(headers={"Accept-Language": "es"})
    assert client.get("/field/").content == spanish.get("/field/").content == current_shell().page.encode()


def test_links_keep_what_they_say_from_every_server(settings: Any) -> None:
    settings.PUBLIC_URL = "https://site.example"
    assert enrolment_link("ABCDEFGH23") == "https://site.example/field/#code=ABCDEFGH23"
    assert opening_link("clinic", "101 A/B") == "https://site.example/field/#/site/clinic/opening/101%20A%2FB"
