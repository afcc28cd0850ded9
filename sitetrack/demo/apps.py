from django.apps import AppConfig


class DemoConfig(AppConfig):
    name = "sitetrack.demo"
    label = "demo"
