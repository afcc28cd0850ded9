"""The plain tables, for those who keep the server. Openings are changed on pages, where every change is recorded."""

from typing import Any

from django.contrib import admin
from django.forms import ModelForm
from django.http import HttpRequest

from openings.models import Building, Floor, SequencePlan, Site, WallType


class KeptAdmin(admin.ModelAdmin):
    """Nothing is deleted here: phones hold these rows, and only the service that removes one tells them."""

    def has_delete_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False


@admin.register(Site)
class SiteAdmin(KeptAdmin):
    # Other units need other tolerances, which the settings page makes.
    readonly_fields = ["units"]
    list_display = ["code", "name", "time_zone", "units"]

    def save_model(self, request: HttpRequest, obj: Site, form: ModelForm, change: bool) -> None:
        """Write only what was edited: the counter in the same row may have moved on since the form was opened."""
        obj.save(update_fields=form.changed_data if change else None)


@admin.register(Building)
class BuildingAdmin(KeptAdmin):
    list_display = ["site", "code", "name"]
    list_filter = ["site"]


@admin.register(Floor)
class FloorAdmin(KeptAdmin):
    list_display = ["site", "building", "code", "level", "due_on"]
    list_filter = ["site"]


@admin.register(WallType)
class WallTypeAdmin(KeptAdmin):
    list_display = ["site", "code", "kind", "thickness"]
    list_filter = ["site", "kind"]


@admin.register(SequencePlan)
class SequencePlanAdmin(KeptAdmin):
    """Versions never change; a new one is installed beside the old."""

    list_display = ["site", "code", "version", "current"]
    list_filter = ["site"]

    def has_add_permission(self, request: HttpRequest) -> bool:
        return False

    def has_change_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False
