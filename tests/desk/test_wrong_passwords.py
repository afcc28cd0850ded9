"""Guessing passwords is slowed down; the admin has no door of its own (tests/access)."""

import pytest
from django.urls import reverse

from tests import builders as b

pytestmark = pytest.mark.django_db
PASSWORD = "correct frame staple"


def test_ten_wrong_passwords_lock_the_account_from_that_address(client):
    who = b.person(password=PASSWORD)
    for _ in range(10):
        answer = client.post(reverse("desk:sign-in"), {"username": who.email, "password": "wrong"})
    assert answer.status_code == 429
    assert "quarter of an hour" in answer.content.decode()
    right = client.post(reverse("desk:sign-in"), {"username": who.email, "password": PASSWORD})
    assert right.status_code == 429
    elsewhere = client.post(
        reverse("desk:sign-in"), {"username": who.email, "password": PASSWORD}, REMOTE_ADDR="192.0.2.9"
    )
    assert elsewhere.status_code == 302


def test_a_right_password_forgets_the_wrong_ones(client):
    who = b.person(password=PASSWORD)
    for word in ["wrong"] * 9 + [PASSWORD] + ["wrong"] * 9:
        answer = client.post(reverse("desk:sign-in"), {"username": who.email, "password": word})
        client.logout()
    assert answer.status_code == 200
