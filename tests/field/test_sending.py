"""Sending: lost answers, poison, busy servers, gone tokens, two tabs. Nothing is lost, nothing arrives twice."""

import pytest

from tests.field.conftest import Phone
from tests.field.fake_server import FakeServer, asks_to_wait, breaks_on, lost_answer
from tests.field.fake_site import PERSON_ID, READING_ID, SIGNER_ID, signable_change
from tests.field.movements import answer_yes, note, sign

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def notes(phone: Phone, *numbers: str) -> None:
    """Notes kept offline, then back to the network."""
    phone.offline()
    for number in numbers:
        note(phone, number, f"at {number}")
    phone.offline(False)


def states(phone: Phone) -> list[str]:
    return [item["state"] for item in phone.queue()]


def forget_waits(phone: Phone) -> None:
    """Let the time pass for which the phone would wait before it tries again."""
    phone.page.evaluate("""() => new Promise((resolve) => {
      const opened = indexedDB.open("sitetrack");
      opened.onsuccess = () => {
        const write = opened.result.transaction(["settings", "queue"], "readwrite");
        write.objectStore("settings").delete("wait");
        const queue = write.objectStore("queue");
        queue.getAll().onsuccess = ({ target }) =>
          target.result.forEach((item) => queue.put({ ...item, notBefore: 0 }));
        write.oncomplete = () => { opened.result.close(); resolve(); };
      };
    })""")


def test_lost_answer_is_sent_again_in_the_same_bytes_and_known(phone: Phone, server: FakeServer) -> None:
    phone.enrol()
    server.fault = lost_answer
    notes(phone, "2001", "2002")
    phone.send()
    assert states(phone) == ["waiting", "waiting"]
    assert len(server.stored) == 2
    server.fault = None
    forget_waits(phone)
    phone.send()
    assert states(phone) == ["sent", "sent"]
    assert len(server.stored) == 2
    assert phone.page.get_by_text("refused").count() == 0


def test_poison_report_holds_up_none_behind_it(phone: Phone, server: FakeServer) -> None:
    phone.enrol()
    server.fault = breaks_on("2003")
    notes(phone, *(f"2{n:03}" for n in range(1, 8)))
    phone.send()
    by_opening = {item["key"]: item for item in phone.queue()}
    assert {key for key, item in by_opening.items() if item["state"] == "sent"} == set(by_opening) - {"2003"}
    assert by_opening["2003"]["state"] == "waiting"
    assert by_opening["2003"]["notBefore"] > 0
    phone.page.get_by_text("the server stumbled over it").wait_for()
    server.fault = None
    forget_waits(phone)
    phone.send()
    assert set(states(phone)) == {"sent"}
    assert len(server.stored) == 7


def test_server_in_trouble_is_left_alone_and_nothing_is_set_aside(phone: Phone, server: FakeServer) -> None:
    phone.enrol()
    server.fault = asks_to_wait(120)
    notes(phone, "2001")
    phone.send()
    asked = len(server.pushes)
    phone.page.get_by_text("asked to wait").wait_for()
    # Pressing does not hurry a server that asked for two minutes.
    for _ in range(3):
        phone.page.get_by_role("button", name="Send now").click()
        phone.page.wait_for_timeout(150)
    assert len(server.pushes) == asked
    assert states(phone) == ["waiting"]
    server.fault = None
    forget_waits(phone)
    phone.send()
    assert states(phone) == ["sent"]


def test_refused_report_stays_with_its_reason_and_can_be_mended(phone: Phone, server: FakeServer) -> None:
    phone.enrol()
    phone.offline()
    note(phone, "2001", "refuse this")
    note(phone, "2002", "take this")
    phone.offline(False)
    phone.send()
    assert states(phone) == ["refused", "sent"]
    phone.page.get_by_text("note: not in this test.").wait_for()
    phone.page.get_by_role("button", name="Fix it").click()
    phone.page.locator("#note").wait_for()
    assert phone.page.locator("#note").input_value() == "refuse this"
    phone.page.fill("#note", "mended")
    phone.page.get_by_role("button", name="Keep the note").click()
    phone.page.wait_for_function("() => !location.hash.endsWith('/note')")
    phone.send()
    assert states(phone) == ["mended", "sent", "sent"]
    assert [item["note"] for item in server.items()] == ["take this", "mended"]


def test_unknown_opening_is_reported_and_kept_aside(phone: Phone, server: FakeServer) -> None:
    phone.enrol()
    phone.show("#/find")
    phone.page.fill("#find", "9999")
    phone.page.get_by_text("9999: not on this phone").click()
    phone.page.get_by_text("kept for the supervisor to place").wait_for()
    phone.show("#/opening/9999/receive")
    answer_yes(phone)
    phone.page.get_by_role("button", name="Finished").click()
    phone.page.wait_for_function("() => location.hash === '#/opening/9999'")
    phone.rest()
    phone.show("#/waiting")
    phone.page.get_by_role("heading", name="Kept aside (1)").wait_for()
    assert len(server.kept_aside) == 1


def test_token_gone_while_offline_keeps_the_queue_until_enrolled_again(phone: Phone, server: FakeServer) -> None:
    phone.enrol()
    notes_before = ("2001", "2002")
    phone.offline()
    for number in notes_before:
        note(phone, number, "before")
    server.tokens.clear()
    server.codes.add("SECONDCODE")
    phone.offline(False)
    phone.send()
    assert states(phone) == ["waiting", "waiting"]
    phone.page.get_by_text("must be enrolled again").wait_for()
    server.tokens.add("another-phone")
    phone.enrol("SECONDCODE")
    phone.page.get_by_text("All sent").first.wait_for()
    assert states(phone) == ["sent", "sent"]
    assert [item["counter"] for item in server.items()] == [1, 2]


def test_two_tabs_send_each_report_once(phone: Phone, server: FakeServer) -> None:
    phone.enrol()
    tab = phone.second_tab()
    tab.locator(".work-row, .empty").first.wait_for()
    notes(phone, *(f"2{n:03}" for n in range(1, 6)))
    for page in (phone.page, tab):
        page.evaluate("() => { dispatchEvent(new Event('focus')); dispatchEvent(new Event('online')); }")
    phone.page.get_by_text("All sent").first.wait_for()
    tab.get_by_text("All sent").first.wait_for()
    assert sum(len(batch) for batch in server.pushes) == 5
    assert len(server.stored) == 5


def test_browser_without_locks_or_channels_still_sends_everything(phone: Phone, server: FakeServer) -> None:
    """Older phones lack both; then a report may go twice, and the server knows it again."""
    phone.context.add_init_script("delete Navigator.prototype.locks; delete window.BroadcastChannel;")
    phone.page.reload()
    phone.enrol()
    tab = phone.second_tab()
    tab.locator(".work-row, .empty").first.wait_for()
    notes(phone, "2001", "2002", "2003")
    for page in (phone.page, tab):
        page.evaluate("() => { dispatchEvent(new Event('focus')); }")
    phone.page.get_by_text("All sent").first.wait_for()
    assert states(phone) == ["sent"] * 3
    assert len(server.stored) == 3


def test_clock_put_back_does_not_hold_reports_up(phone: Phone, server: FakeServer) -> None:
    """A report set back, and a wait, by a clock that stood a year ahead."""
    phone.enrol()
    phone.offline()
    note(phone, "2001", "by the wrong clock")
    phone.page.evaluate("""async () => {
      const { openStore, putSetting } = await import("/static/field/store.js");
      const { setBack } = await import("/static/field/queue.js");
      const db = await openStore();
      const ahead = Date.now() + 365 * 86_400_000;
      await putSetting(db, "wait", { until: ahead, failures: 3, byServer: true });
      await setBack(db, 1, ahead, null);
    }""")
    phone.offline(False)
    phone.send()
    assert states(phone) == ["sent"]


def test_two_tabs_never_give_the_same_count_twice(phone: Phone, server: FakeServer) -> None:
    phone.enrol()
    phone.offline()
    tab = phone.second_tab()
    make = """async (from) => {
      const { openStore } = await import("/static/field/store.js");
      const { enqueue } = await import("/static/field/queue.js");
      const db = await openStore();
      const made = { site: "s", person: "p", now: Date.now() };
      const all = Array.from({ length: 25 }, (_, n) =>
        enqueue(db, { opening: String(from + n), stage: "receive", action: "note" }, made));
      return (await Promise.all(all)).map((item) => item.n);
    }"""
    started = [
        page.evaluate_handle(f"from => ({{ made: ({make})(from) }})", n * 100)
        for n, page in enumerate((phone.page, tab))
    ]
    counts = [handle.evaluate("async (handle) => handle.made") for handle in started]
    assert sorted(counts[0] + counts[1]) == list(range(1, 51))


def test_undo_before_sending_leaves_no_trace_on_the_wire(phone: Phone, server: FakeServer) -> None:
    phone.enrol()
    phone.offline()
    note(phone, "2001", "a mistake")
    phone.show("#/waiting")
    phone.page.get_by_role("button", name="Undo").click()
    phone.page.get_by_text("Undone.").wait_for()
    phone.offline(False)
    phone.send()
    assert server.pushes == []
    assert states(phone) == ["undone"]


def test_what_was_sent_is_taken_back_by_a_report_of_its_own(phone: Phone, server: FakeServer) -> None:
    phone.enrol()
    notes(phone, "2001")
    phone.send()
    phone.page.get_by_role("button", name="Take back").click()
    phone.page.wait_for_function("() => document.querySelector('main').innerText.includes('taken back')")
    phone.page.get_by_text("All sent").first.wait_for()
    first, void = server.items()
    assert (void["action"], void["about"]) == ("void", first["id"])


def test_report_that_may_have_arrived_is_never_undone_quietly(phone: Phone, server: FakeServer) -> None:
    """Its answer was lost: undoing it on the phone alone would leave it standing on the server."""
    phone.enrol()
    server.fault = lost_answer
    notes(phone, "2001")
    phone.send()
    assert states(phone) == ["waiting"]
    server.fault = None
    phone.page.get_by_role("button", name="Take back").wait_for()
    assert phone.page.get_by_role("button", name="Undo").count() == 0
    phone.page.get_by_role("button", name="Take back").click()
    forget_waits(phone)
    phone.send()
    assert [item["action"] for item in server.items()] == ["note", "void"]


def everything_kept(phone: Phone) -> str:
    return str([phone.stored(name) for name in ("settings", "queue", "drafts", "records", "openings")])


def test_signers_code_goes_out_with_the_signature_and_never_rests_on_the_phone(
    phone: Phone, server: FakeServer
) -> None:
    server.changes.append(signable_change())
    phone.enrol()
    phone.offline()
    sign(phone, "SIGN-1", SIGNER_ID, "804711")
    assert "804711" not in everything_kept(phone)
    phone.offline(False)
    phone.send()
    (signed,) = server.items()
    assert (signed["action"], signed["about"], signed["signer"]) == ("sign", READING_ID, SIGNER_ID)
    assert "804711" not in everything_kept(phone)


def test_signature_waits_for_its_code_when_the_page_was_closed(phone: Phone, server: FakeServer) -> None:
    server.changes.append(signable_change())
    phone.enrol()
    phone.offline()
    sign(phone, "SIGN-1", SIGNER_ID, "804711")
    note(phone, "2001", "goes by itself")
    phone.page.reload()
    phone.offline(False)
    phone.send()
    phone.page.get_by_text("needs the code to be sent").wait_for()
    phone.page.wait_for_function("() => document.querySelector('.tb-send').innerText === '1 to send'")
    assert [item["action"] for item in server.items()] == ["note"]
    phone.page.get_by_label("Signing code").fill("804711")
    phone.page.get_by_role("button", name="Sign").click()
    phone.page.get_by_text("All sent").first.wait_for()
    assert {item["action"] for item in server.items()} == {"note", "sign"}


def test_wrong_code_is_found_at_the_server_and_shown(phone: Phone, server: FakeServer) -> None:
    server.changes.append(signable_change())
    phone.enrol()
    sign(phone, "SIGN-1", SIGNER_ID, "135798")
    phone.show("#/waiting")
    phone.page.get_by_text("The signing code is wrong").wait_for()
    assert states(phone) == ["refused"]


def test_reports_of_another_person_wait_for_their_own_enrolment(phone: Phone, server: FakeServer) -> None:
    """A phone handed on must not send one hand's reports under another's name."""
    phone.enrol()
    phone.offline()
    note(phone, "2001", "by Ada")
    phone.offline(False)
    server.codes |= {"FORSOMEONE", "FORADA2222"}
    server.person = SIGNER_ID
    phone.enrol("FORSOMEONE")
    phone.send()
    phone.page.get_by_text("made by another person").wait_for()
    assert server.pushes == []
    server.person = PERSON_ID
    phone.enrol("FORADA2222")
    phone.rest()
    assert states(phone) == ["sent"]
    assert [item["note"] for item in server.items()] == ["by Ada"]


def test_key_hit_twice_by_a_glove_reports_once(phone: Phone, server: FakeServer) -> None:
    phone.enrol()
    phone.offline()
    phone.show("#/opening/2001/set")
    answer_yes(phone)
    phone.page.get_by_role("button", name="Finished").evaluate("key => { key.click(); key.click(); key.click(); }")
    phone.page.wait_for_function("() => location.hash === '#/opening/2001'")
    assert len(phone.queue()) == 1
