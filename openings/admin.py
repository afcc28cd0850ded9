"""The plain tables, for those who keep the server. Openings are changed on pages, where every change is recorded."""

from django.contrib import admin

from openings.models import Building, Floor, SequencePlan, Site, WallType


@admin.register(Site)
class SiteAdmin(admin.ModelAdmin):
    list_display = ["code", "name", "time_zone", "units"]


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
