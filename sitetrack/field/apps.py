from django.apps import AppConfig


class FieldConfig(AppConfig):
    name = "sitetrack.field"
    label = "field"
    verbose_name = "Phone pages"
