"""People and their standing, for those who keep the server."""

from typing import Any

from django.contrib import admin
from django.http import HttpRequest

from sitetrack.access.models import Company, Device, Membership, Person, RecordedChange


@admin.register(Company)
class CompanyAdmin(admin.ModelAdmin):
    search_fields = ["name"]


@admin.register(Person)
class PersonAdmin(admin.ModelAdmin):
    list_display = ["name", "email", "is_active"]
    search_fields = ["name", "email"]
    readonly_fields = ["password", "last_login", "joined_at"]


@admin.register(Membership)
class MembershipAdmin(admin.ModelAdmin):
    """May be given here, for a site nobody supervises any more; changed and ended on the site's people page only.

    There a change ends one standing and begins another, so that what was reported stays reported for whom it was.
    """

    list_display = ["site", "person", "company", "role", "ended_at"]
    list_filter = ["site", "role"]
    readonly_fields = ["ended_at"]

    def has_change_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False

    def has_delete_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False


@admin.register(Device)
class DeviceAdmin(admin.ModelAdmin):
    """To be looked at: a phone is let in and stopped by the services, and one that was stopped never goes again."""

    list_display = ["name", "person", "site", "last_seen_at", "revoked_at"]
    list_filter = ["site"]
    exclude = ["token_digest"]

    def has_add_permission(self, request: HttpRequest) -> bool:
        return False

    def has_change_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False

    def has_delete_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False


@admin.register(RecordedChange)
class RecordedChangeAdmin(admin.ModelAdmin):
    """To be read only."""

    list_display = ["at", "who", "site", "kind", "act", "named"]
    list_filter = ["kind", "site"]

    def has_add_permission(self, request: HttpRequest) -> bool:
        return False

    def has_change_permission(self, request: HttpRequest, obj: RecordedChange | None = None) -> bool:
        return False

    def has_delete_permission(self, request: HttpRequest, obj: RecordedChange | None = None) -> bool:
        return False
