"""The plain tables, for those who keep the server. Openings are changed on pages, where every change is recorded."""

from django.contrib import admin
from django.forms import ModelForm
from django.http import HttpRequest

from openings.models import Building, Floor, SequencePlan, Site, WallType


@admin.register(Site)
class SiteAdmin(admin.ModelAdmin):
    list_display = ["code", "name", "time_zone", "units"]

    def save_model(self, request: HttpRequest, obj: Site, form: ModelForm, change: bool) -> None:
        """Write only what was edited: the counter in the same row may have moved on since the form was opened."""
        obj.save(update_fields=form.changed_data if change else None)


@admin.register(Building)
class BuildingAdmin(admin.ModelAdmin):
    list_display = ["site", "code", "name"]
    list_filter = ["site"]


@admin.register(Floor)
class FloorAdmin(admin.ModelAdmin):
    list_display = ["site", "building", "code", "level", "due_on"]
    list_filter = ["site"]


@admin.register(WallType)
class WallTypeAdmin(admin.ModelAdmin):
    list_display = ["site", "code", "kind", "thickness"]
    list_filter = ["site", "kind"]


@admin.register(SequencePlan)
class SequencePlanAdmin(admin.ModelAdmin):
    """Versions never change; a new one is installed beside the old."""

    list_display = ["site", "code", "version", "current"]
    list_filter = ["site"]
    readonly_fields = ["site", "code", "version", "name", "wall_kind", "stages", "current"]
