"""Signing on another's phone by one's own code. The code is in no row, no answer and no log."""

import json
import logging
from datetime import datetime, timedelta
from typing import Any

import pytest
from django.core.management import call_command
from django.db import connection
from django.test.utils import CaptureQueriesContext

from inspections.models import CheckIn, KeptAside, SignOff, WrongSigningCode
from inspections.services.reports import ItemResult
from inspections.services.signing_codes import LOCKED_FOR, TRIES, TRIES_A_DAY, TRIES_OF_A_PHONE_A_DAY
from inspections.sync.items import read_item
from inspections.sync.push import Push, push
from openings.models import Opening, Site
from sitetrack.access.models import Device, Membership, Person
from sitetrack.access.services.signing_code import set_signing_code, signing_code_fits
from sitetrack.kit.problems import BadInput
from tests import builders as b

pytestmark = pytest.mark.django_db

CODE = "806417"
WRONG = "731950"


@pytest.fixture
def clinic() -> Site:
    return b.site("clinic")


@pytest.fixture
def opening(clinic: Site) -> Opening:
    return b.opening(clinic)


@pytest.fixture
def hand(clinic: Site) -> Person:
    return b.crew(clinic)


@pytest.fixture
def phone(clinic: Site, hand: Person) -> Device:
    return b.device(clinic, hand)[0]


@pytest.fixture
def inspector(clinic: Site) -> Person:
    return set_signing_code(person=b.inspector(clinic), code=CODE, now=b.MONDAY)


@pytest.fixture
def reading(hand: Person, opening: Opening) -> CheckIn:
    return b.frame_check(hand, opening)


def signature(reading: CheckIn, signer: Person | None, code: str | None = CODE, **more: Any) -> dict[str, Any]:
    signer_id = signer.pk if signer else None
    return b.push_item(
        reading.opening, "trueness", "sign", about=reading.pk, signer=signer_id, signing_code=code, **more
    )


def send(phone: Device, *items: Any, now: datetime = b.MONDAY) -> list[ItemResult]:
    return push(batch=Push(phone.person, phone, now, items), now=now).results


def told(result: ItemResult) -> str:
    assert result.problem is not None
    return str(result.problem["type"])


def test_a_signature_by_code_is_the_signers_on_the_hands_phone(
    phone: Device, inspector: Person, reading: CheckIn
) -> None:
    item = signature(reading, inspector, counter=8)
    assert send(phone, item)[0].outcome == "stored"
    stored = CheckIn.objects.get(pk=item["id"])
    assert (stored.person, stored.role, stored.device) == (inspector, "inspector", phone)
    assert stored.company_id == Membership.objects.get(person=inspector).company_id
    assert SignOff.objects.get(check_in=stored).signer == inspector
    assert stored.extra == {"signer": str(inspector.pk)}, "that it was signed on another's phone stays on record"


def test_a_wrong_code_is_refused_and_nothing_is_signed(phone: Device, inspector: Person, reading: CheckIn) -> None:
    (result,) = send(phone, signature(reading, inspector, WRONG))
    assert (result.outcome, told(result)) == ("refused", "/problems/signing-code-wrong")
    assert not SignOff.objects.exists()


@pytest.mark.parametrize("code", [None, "", 806417, ["806417"], "8" * 500])
def test_what_is_no_code_signs_nothing_and_is_no_guess(
    phone: Device, inspector: Person, reading: CheckIn, code: Any
) -> None:
    item = signature(reading, inspector) | {"signing_code": code}
    assert told(send(phone, item)[0]) == "/problems/signing-code-wrong"
    assert not WrongSigningCode.objects.exists()


def test_whoever_has_set_no_code_is_told_so(phone: Device, clinic: Site, reading: CheckIn) -> None:
    (result,) = send(phone, signature(reading, b.inspector(clinic)))
    assert told(result) == "/problems/signing-code-not-set"


def test_the_right_code_gives_no_right_that_the_signer_does_not_have(
    phone: Device, clinic: Site, reading: CheckIn
) -> None:
    painter = set_signing_code(person=b.crew(clinic, "painter"), code=CODE, now=b.MONDAY)
    assert told(send(phone, signature(reading, painter))[0]) == "/problems/forbidden"


def test_a_signer_of_another_site_or_of_days_gone_by_is_nobody(
    phone: Device, inspector: Person, reading: CheckIn
) -> None:
    stranger = set_signing_code(person=b.inspector(b.site()), code=CODE, now=b.MONDAY)
    assert told(send(phone, signature(reading, stranger))[0]) == "/problems/forbidden"
    Membership.objects.filter(person=inspector).update(ended_at=b.MONDAY)
    assert told(send(phone, signature(reading, inspector))[0]) == "/problems/forbidden"


def test_reader_and_signer_are_two_persons_by_code_too(clinic: Site, opening: Opening, phone: Device) -> None:
    reader = set_signing_code(person=b.inspector(clinic), code=CODE, now=b.MONDAY)
    own = b.frame_check(reader, opening)
    assert told(send(phone, signature(own, reader))[0]) == "/problems/forbidden"


def test_on_ones_own_phone_no_code_is_asked(clinic: Site, inspector: Person, reading: CheckIn) -> None:
    own, _ = b.device(clinic, inspector)
    assert send(own, signature(reading, inspector, code=None))[0].outcome == "stored"


def test_sent_again_with_another_code_or_none_it_is_known(phone: Device, inspector: Person, reading: CheckIn) -> None:
    item = signature(reading, inspector)
    send(phone, item)
    without = {name: value for name, value in item.items() if name != "signing_code"}
    for again in (item, item | {"signing_code": WRONG}, without):
        assert send(phone, again)[0].outcome == "known"
    assert not WrongSigningCode.objects.exists(), "nothing was proved anew, so nothing was guessed"


def test_kept_aside_signatures_were_proved_before(phone: Device, inspector: Person, reading: CheckIn) -> None:
    wrong, right = (signature(reading, inspector, code) | {"opening": "misread"} for code in (WRONG, CODE))
    assert [r.outcome for r in send(phone, wrong, right)] == ["refused", "kept_aside"]
    kept = KeptAside.objects.get()
    assert (kept.person, kept.role) == (inspector, "inspector")


def test_five_wrong_codes_lock_even_the_right_one_for_a_quarter_of_an_hour(
    phone: Device, inspector: Person, reading: CheckIn
) -> None:
    for n in range(TRIES):
        at = b.MONDAY + timedelta(minutes=n)
        assert told(send(phone, signature(reading, inspector, f"73195{n}"), now=at)[0]).endswith("signing-code-wrong")
    last = b.MONDAY + timedelta(minutes=TRIES - 1)
    just_before = last + LOCKED_FOR - timedelta(seconds=1)
    assert told(send(phone, signature(reading, inspector), now=just_before)[0]) == "/problems/signing-code-locked"
    assert send(phone, signature(reading, inspector), now=last + LOCKED_FOR)[0].outcome == "stored"


def test_the_lock_is_of_one_signer_on_one_phone(
    phone: Device, clinic: Site, inspector: Person, reading: CheckIn, opening: Opening
) -> None:
    """A hand who guesses locks the signer out of that hand's phone, and of no other."""
    other, _ = b.device(clinic, b.crew(clinic))
    send(phone, *(signature(reading, inspector, f"73195{n}") for n in range(TRIES)))
    assert told(send(phone, signature(reading, inspector))[0]) == "/problems/signing-code-locked"
    boss = set_signing_code(person=b.supervisor(clinic), code=CODE, now=b.MONDAY)
    assert send(phone, signature(reading, boss))[0].outcome == "stored"
    again = b.frame_check(phone.person, opening, at=b.MONDAY + b.MINUTE)
    assert send(other, signature(again, inspector), now=b.MONDAY + 2 * b.MINUTE)[0].outcome == "stored"


def wrong_by(device: Device, signer: Person, count: int) -> None:
    WrongSigningCode.objects.bulk_create(
        WrongSigningCode(person=signer, device=device, at=b.MONDAY + 20 * n * b.MINUTE) for n in range(count)
    )


def test_one_phone_guesses_only_so_often_a_day(phone: Device, inspector: Person, reading: CheckIn) -> None:
    wrong_by(phone, inspector, TRIES_OF_A_PHONE_A_DAY)
    late = b.MONDAY + b.DAY - b.MINUTE
    assert told(send(phone, signature(reading, inspector), now=late)[0]) == "/problems/signing-code-locked"
    assert send(phone, signature(reading, inspector), now=late + 2 * b.MINUTE)[0].outcome == "stored"


def test_many_phones_together_lock_a_signer_everywhere(clinic: Site, inspector: Person, reading: CheckIn) -> None:
    phones = [b.device(clinic, b.crew(clinic))[0] for _ in range(TRIES_A_DAY // TRIES_OF_A_PHONE_A_DAY + 1)]
    for each in phones[:-2]:
        wrong_by(each, inspector, TRIES_OF_A_PHONE_A_DAY)
    wrong_by(phones[-2], inspector, TRIES_OF_A_PHONE_A_DAY - 1)
    late = b.MONDAY + timedelta(hours=12)
    assert told(send(phones[-1], signature(reading, inspector, WRONG), now=late)[0]) == "/problems/signing-code-wrong"
    assert told(send(phones[-1], signature(reading, inspector), now=late)[0]) == "/problems/signing-code-locked"


def test_wrong_codes_far_apart_lock_nothing(phone: Device, inspector: Person, reading: CheckIn) -> None:
    for n in range(2 * TRIES):
        send(phone, signature(reading, inspector, WRONG), now=b.MONDAY + n * timedelta(minutes=4))
    later = b.MONDAY + 2 * TRIES * timedelta(minutes=4)
    assert send(phone, signature(reading, inspector), now=later)[0].outcome == "stored"


def test_the_right_code_forgives_what_was_mistyped(phone: Device, inspector: Person, reading: CheckIn) -> None:
    for _ in range(3):
        send(phone, *(signature(reading, inspector, f"73195{n}") for n in range(TRIES - 1)))
        assert send(phone, signature(reading, inspector))[0].outcome in {"stored", "refused"}
        assert not WrongSigningCode.objects.exists()


def test_a_whole_batch_with_one_mistyped_code_is_one_wrong_try(
    phone: Device, inspector: Person, reading: CheckIn
) -> None:
    send(phone, *(signature(reading, inspector, WRONG) for _ in range(20)))
    assert WrongSigningCode.objects.count() == 1


def test_one_refused_signature_sinks_no_other_item(
    phone: Device, inspector: Person, reading: CheckIn, opening: Opening
) -> None:
    results = send(
        phone, b.push_item(opening), signature(reading, inspector, WRONG), signature(reading, inspector),
        b.push_item(opening, action="note", note="x"),
    )  # fmt: skip
    assert [r.outcome for r in results] == ["stored", "refused", "stored", "stored"]


def test_the_code_is_nowhere_in_the_data_base_the_answers_or_the_log(
    phone: Device, inspector: Person, reading: CheckIn, caplog: pytest.LogCaptureFixture, tmp_path: Any
) -> None:
    caplog.set_level(logging.DEBUG)
    stored, aside, wrong, broken = (
        signature(reading, inspector),
        signature(reading, inspector) | {"opening": "misread"},
        signature(reading, inspector, WRONG),
        signature(reading, inspector) | {"happened_at": "soon"},
    )
    results = send(phone, stored, aside, wrong, broken)
    assert [r.outcome for r in results] == ["stored", "kept_aside", "refused", "refused"]
    call_command("dumpdata", "--all", output=str(tmp_path / "everything.json"))
    everything = (tmp_path / "everything.json").read_text()
    assert str(reading.pk) in everything
    for place in (everything, json.dumps([r.as_dict() for r in results]), caplog.text, repr(read_item(stored))):
        assert CODE not in place
        assert WRONG not in place


def test_the_digest_of_an_item_does_not_know_its_code(reading: CheckIn, inspector: Person) -> None:
    item = signature(reading, inspector)
    digests = {read_item(item | {"signing_code": code}).report.digest for code in (CODE, WRONG, None, 4)}
    assert len(digests) == 1


def test_a_batch_without_foreign_signatures_asks_nothing_more(phone: Device, opening: Opening) -> None:
    with CaptureQueriesContext(connection) as queries:
        send(phone, b.push_item(opening))
    assert not [q for q in queries.captured_queries if "wrongsigningcode" in q["sql"]]


@pytest.mark.parametrize(
    "code", ["80641", "8064171234567", "80641a", "", "111111", "123456", "987654", "890123", "٨٠٦٤١٧"]
)
def test_a_code_that_is_easily_guessed_is_not_taken_and_not_repeated(code: str) -> None:
    someone = b.person()
    with pytest.raises(BadInput) as refusal:
        set_signing_code(person=someone, code=code, now=b.MONDAY)
    assert not code or code not in json.dumps(refusal.value.as_dict())
    someone.refresh_from_db()
    assert someone.signing_code == ""


def test_a_code_is_kept_as_a_slow_hash_and_replaced_by_the_next() -> None:
    someone = set_signing_code(person=b.person(), code=CODE, now=b.MONDAY)
    assert someone.signing_code.startswith("argon2$")
    set_signing_code(person=someone, code="246813", now=b.MONDAY)
    assert signing_code_fits(someone, "246813")
    assert not signing_code_fits(someone, CODE)
    assert not signing_code_fits(b.person(), "")


def test_an_id_that_is_none_is_refused_by_its_field(phone: Device, reading: CheckIn) -> None:
    (result,) = send(phone, signature(reading, None) | {"signer": "Sam"})
    assert result.problem is not None
    assert result.problem["errors"][0]["field"] == "signer"
