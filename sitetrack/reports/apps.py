from django.apps import AppConfig


class ReportsConfig(AppConfig):
    name = "sitetrack.reports"
    label = "reports"
