"""Loading a site onto the phone, and keeping it true: breaks, resets, tombstones, a new release of the page."""

from pathlib import Path
from typing import Any

import pytest

from sitetrack.field import shell as shell_module
from tests.field.conftest import Phone
from tests.field.fake_server import FakeServer
from tests.field.fake_site import opening_change, site_change, standing_at, whole_site
from tests.field.movements import answer_yes

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def numbers_on(phone: Phone) -> list[str]:
    return sorted(record["data"]["number"] for record in phone.stored("openings"))


def numbers_of(server: FakeServer) -> list[str]:
    return sorted(
        change["data"]["number"] for change in server.changes if change["type"] == "opening" and change["data"]
    )


def pull(phone: Phone) -> None:
    phone.send()


def test_first_load_broken_off_goes_on_where_it_stopped(phone: Phone, server: FakeServer) -> None:
    server.changes = whole_site(400)
    server.page = 50
    pulls = "**/api/v1/sync/pull*"
    phone.context.route(pulls, lambda route: route.abort() if len(server.pulls) >= 3 else route.continue_())
    phone.page.goto(f"{phone.address}/field/#code=GOODCODE23")
    phone.page.get_by_role("button", name="Enrol").click()
    phone.page.get_by_text("No signal").wait_for()
    assert 0 < len(phone.stored("openings")) < 400
    phone.context.unroute(pulls)
    pull(phone)
    assert numbers_on(phone) == numbers_of(server)
    # Nothing was asked for twice.
    assert server.pulls == [""] + [f"c-{n}" for n in range(50, len(server.changes), 50)]


def test_reset_replaces_everything_and_leaves_the_queue_alone(phone: Phone, server: FakeServer) -> None:
    phone.enrol()
    phone.offline()
    phone.show("#/opening/2001/receive/note")
    phone.page.fill("#note", "kept through the reset")
    phone.page.get_by_role("button", name="Keep the note").click()
    phone.page.wait_for_function("() => !location.hash.endsWith('/note')")
    server.reset_from = f"c-{len(server.changes)}"
    server.changes = [site_change(name="Another name"), *whole_site(30)[1:]]
    server.page = 10
    phone.offline(False)
    pull(phone)
    assert numbers_on(phone) == numbers_of(server)
    assert phone.page.locator(".tb-site").inner_text() == "Another name"
    assert [item["note"] for item in server.items()] == ["kept through the reset"]


def test_what_the_server_takes_away_leaves_the_phone(phone: Phone, server: FakeServer) -> None:
    phone.enrol()
    gone = next(change for change in server.changes if change["type"] == "opening")
    server.changes.append({"type": "opening", "id": gone["id"], "data": None})
    server.changes.append({"type": "a-kind-of-a-newer-server", "id": "1", "data": {"unknown": True}})
    pull(phone)
    assert gone["data"]["number"] not in numbers_on(phone)
    assert len(numbers_on(phone)) == 49


def test_sent_report_shows_until_the_servers_own_word_on_the_opening_comes(phone: Phone, server: FakeServer) -> None:
    phone.enrol()
    phone.show("#/opening/2001/trueness")
    phone.page.get_by_role("button", name="Start").click()
    phone.page.get_by_text("You reported").wait_for()
    phone.rest()
    phone.page.get_by_text(", sent").wait_for()
    server.changes.append(opening_change(1, at="board"))
    pull(phone)
    phone.show("#/opening/2001")
    phone.page.get_by_text("8 stages done").wait_for()
    assert phone.page.get_by_text("You reported").count() == 0


@pytest.fixture
def next_release(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Any:
    """Puts another release of the page on the server; one that is whole, or one whose files don't fit each other."""

    def release(*, whole: bool = True) -> str:
        folder = tmp_path / "next"
        folder.mkdir(exist_ok=True)
        for path in shell_module.shell_files():
            (folder / path.name).write_bytes(path.read_bytes())
        if not whole:
            (folder / "app.js").write_text("// not what the static files hold")
        monkeypatch.setattr(shell_module, "FOLDER", folder)
        monkeypatch.setattr(shell_module, "WORKER_SOURCE", tmp_path / "worker.js")
        source = Path(shell_module.__file__).parent / "worker.js"
        (tmp_path / "worker.js").write_text(source.read_text() + "\n// next release\n")
        shell_module._kept_shell.cache_clear()
        return shell_module.current_shell().version

    yield release
    monkeypatch.undo()
    shell_module._kept_shell.cache_clear()


def caches_of(phone: Phone) -> list[str]:
    return phone.page.evaluate("caches.keys()")


def test_new_release_is_offered_not_forced_and_drops_nothing(
    phone: Phone, server: FakeServer, next_release: Any
) -> None:
    phone.enrol()
    (before,) = caches_of(phone)
    phone.offline()
    phone.show("#/opening/2001/trueness")
    phone.page.fill("#r-width_head", "36")
    phone.page.get_by_role("button", name="Start").click()
    phone.page.get_by_text("You reported").wait_for()
    version = next_release()
    phone.offline(False)
    phone.page.evaluate("navigator.serviceWorker.getRegistration().then((registration) => registration.update())")
    phone.page.get_by_text("A newer version of this page is ready").wait_for()
    assert before in caches_of(phone)
    queue = phone.queue()
    phone.page.get_by_role("button", name="Use it now").click()
    phone.page.wait_for_function(
        "version => caches.keys().then((keys) => keys.length === 1 && keys[0].endsWith(version))", arg=version
    )
    phone.page.locator("main h1").wait_for()
    assert [item["id"] for item in phone.queue()] == [item["id"] for item in queue]


def test_release_that_is_only_half_there_is_not_taken(phone: Phone, server: FakeServer, next_release: Any) -> None:
    """While servers are being changed over, one file may be of the old release and the next of the new."""
    phone.enrol()
    before = caches_of(phone)
    next_release(whole=False)
    taken = phone.page.evaluate("""async () => {
      const registration = await navigator.serviceWorker.getRegistration();
      await registration.update().catch(() => {});
      const worker = registration.installing;
      if (worker) await new Promise((resolve) => worker.addEventListener("statechange", resolve));
      return registration.waiting !== null;
    }""")
    assert not taken
    phone.offline()
    phone.page.reload()
    phone.page.locator(".title-block").wait_for()
    assert before[0] in caches_of(phone)
    phone.problems.clear()  # the refused release is said on the console, as it should be


def test_full_phone_says_so_and_keeps_what_was_typed(phone: Phone, server: FakeServer) -> None:
    phone.enrol()
    phone.show("#/opening/2001/receive/note")
    phone.page.fill("#note", "long story")
    phone.page.wait_for_timeout(300)
    phone.page.evaluate("""() => {
      const add = IDBObjectStore.prototype.add;
      IDBObjectStore.prototype.add = function (...given) {
        if (this.name !== "queue") return add.apply(this, given);
        this.transaction.abort();
        throw new DOMException("full", "QuotaExceededError");
      };
    }""")
    phone.page.get_by_role("button", name="Keep the note").click()
    phone.page.get_by_text("NOT kept: the phone is full").wait_for()
    assert phone.page.locator("#note").input_value() == "long story"
    assert phone.queue() == []


@pytest.mark.parametrize("number", ["101 A/B", "50%", "#7", "<img src=x onerror=alert(1)>", "Ñ-1 ½", "a b?c=d&e"])
def test_any_number_a_schedule_holds_opens_and_is_only_ever_text(phone: Phone, server: FakeServer, number: str) -> None:
    server.changes.append(opening_change(50, number=number, standing=standing_at("set")))
    phone.enrol()
    phone.show("#/find")
    phone.page.fill("#find", number[:3])
    phone.page.locator(".found-row.number", has_text=number).click()
    phone.page.get_by_role("heading", name=number, exact=True).wait_for()
    phone.page.locator(".actions .key-go").first.click()
    phone.page.get_by_role("button", name="Finished").wait_for()
    answer_yes(phone)
    phone.page.get_by_role("button", name="Finished").click()
    phone.page.locator(".own").first.wait_for()
    phone.rest()
    assert [item["opening"] for item in server.items()] == [number]
    assert phone.page.locator("img").count() == 0
