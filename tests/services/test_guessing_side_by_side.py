"""Guesses at a signing code sent side by side are still counted one after another: on PostgreSQL."""

import threading

import pytest
from django.db import connection

from inspections.models import WrongSigningCode
from inspections.services.signing_codes import TRIES
from inspections.sync.push import Push, push
from sitetrack.access.services.signing_code import set_signing_code
from tests import builders as b

pytestmark = [pytest.mark.services, pytest.mark.django_db(transaction=True)]


def test_forty_guesses_at_once_are_no_more_than_five() -> None:
    site = b.site()
    hand = b.crew(site)
    reading = b.frame_check(hand, b.opening(site))
    signer = set_signing_code(person=b.inspector(site), code="806417", now=b.MONDAY)
    phone, _token = b.device(site, hand)  # copied, say: its token sends from eight places at once
    places = range(8)
    gate = threading.Barrier(len(places))
    told: list[str] = []

    def guess(place: int) -> None:
        items = [
            b.push_item(
                reading.opening, "trueness", "sign", about=reading.pk, signer=signer.pk, signing_code=f"1357{place}{n}"
            )
            for n in range(5)
        ]
        gate.wait()
        try:
            results = push(batch=Push(hand, phone, b.MONDAY, items), now=b.MONDAY).results
            told.extend(str(r.problem["type"]) for r in results if r.problem)
        finally:
            connection.close()

    threads = [threading.Thread(target=guess, args=(place,)) for place in places]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(60)
    assert len(told) == 40
    assert told.count("/problems/signing-code-wrong") == TRIES == WrongSigningCode.objects.count()
    assert told.count("/problems/signing-code-locked") == 40 - TRIES
