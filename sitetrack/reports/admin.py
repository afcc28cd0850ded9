"""The mailing lists of the sites."""

from django.contrib import admin

from sitetrack.reports.models import Reader


@admin.register(Reader)
class ReaderAdmin(admin.ModelAdmin):
    """Who gets the weekly status and the daily anchor by mail."""

    list_display = ("email", "site", "company", "gets_status", "gets_anchor", "language", "paper")
    list_filter = ("site",)
