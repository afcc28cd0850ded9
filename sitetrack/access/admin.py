"""People and their standing, for those who keep the server."""

from django.contrib import admin

from sitetrack.access.models import Company, Device, Membership, Person


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
    list_display = ["site", "person", "company", "role", "ended_at"]
    list_filter = ["site", "role"]


@admin.register(Device)
class DeviceAdmin(admin.ModelAdmin):
    list_display = ["name", "person", "site", "last_seen_at", "revoked_at"]
    list_filter = ["site"]
    readonly_fields = ["site", "person", "kind", "last_seen_at", "clock_offset_ms", "clock_jumped_at"]
