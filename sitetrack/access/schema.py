"""How the tokens appear in the OpenAPI document."""

from drf_spectacular.extensions import OpenApiAuthenticationExtension


class DeviceTokenScheme(OpenApiAuthenticationExtension):
    """Bearer tokens of enrolled phones and programs."""

    target_class = "sitetrack.access.tokens.DeviceTokenAuthentication"
    name = "deviceToken"

    def get_security_definition(self, auto_schema: object) -> dict[str, str]:
        return {"type": "http", "scheme": "bearer", "description": "Token given once when the phone was enrolled."}
