"""The admin as back door: what the services guard can't be done round them there."""

from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from openings.models import SequencePlan, Site
from sitetrack.access.models import Device, Membership
from tests import builders as make

pytestmark = pytest.mark.django_db


@pytest.fixture
def keeper() -> Client:
    """Whoever keeps the server, with every right the admin knows."""
    client = Client()
    client.force_login(make.person(is_staff=True, is_superuser=True))
    return client


def test_nothing_that_phones_hold_is_deleted(keeper: Client) -> None:
    site = make.site()
    opening = make.opening(site)
    phone, _ = make.device(site, make.supervisor(site))
    for row in (site, opening.floor, opening.floor.building, opening.wall, opening.plan, phone, site.memberships.get()):
        name = f"admin:{row._meta.app_label}_{row._meta.model_name}_delete"
        assert keeper.post(reverse(name, args=[row.pk]), {"post": "yes"}).status_code == 403, name
        assert type(row).objects.filter(pk=row.pk).exists()


@pytest.mark.parametrize("model", [Membership, Device, SequencePlan])
def test_what_only_services_change_is_looked_at_only(keeper: Client, model: Any) -> None:
    site = make.site()
    make.device(site, make.supervisor(site))
    row = model.objects.filter(site=site)[0]
    address = reverse(f"admin:{model._meta.app_label}_{model._meta.model_name}_change", args=[row.pk])
    page = keeper.get(address)
    assert page.status_code == 200
    assert 'name="_save"' not in page.content.decode()
    assert keeper.post(address, {"revoked_at_0": "", "role": "viewer"}).status_code == 403


def test_a_stopped_phone_does_not_go_again(keeper: Client) -> None:
    site = make.site()
    phone, _ = make.device(site, make.supervisor(site))
    Device.objects.filter(pk=phone.pk).update(revoked_at=make.MONDAY)
    address = reverse("admin:access_device_change", args=[phone.pk])
    assert keeper.post(address, {"name": phone.name}).status_code == 403
    assert Device.objects.get(pk=phone.pk).revoked_at == make.MONDAY
    assert phone.token_digest not in keeper.get(address).content.decode()


def test_the_units_of_a_site_are_not_changed_behind_its_tolerances(keeper: Client) -> None:
    site = make.site()
    page = keeper.get(reverse("admin:openings_site_change", args=[site.pk])).content.decode()
    assert 'name="units"' not in page
    assert Site.objects.get(pk=site.pk).units == "imperial"
