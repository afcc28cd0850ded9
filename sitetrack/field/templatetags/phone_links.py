"""Links to the phone pages, as text and as codes to scan, for templates of any page."""

from io import BytesIO

import segno
from django import template
from django.utils.safestring import SafeString, mark_safe

from sitetrack.field.links import enrolment_link as link_with_code
from sitetrack.field.links import opening_link as link_to_opening

register = template.Library()


@register.simple_tag
def enrolment_link(code: str) -> str:
    """The link that enrols the phone that opens it."""
    return link_with_code(code)


@register.simple_tag
def opening_link(site_code: str, number: str) -> str:
    """The link that opens an opening on a phone, as its label has it."""
    return link_to_opening(site_code, number)


@register.simple_tag
def qr_code(text: str, label: str) -> SafeString:
    """The text as a QR code (ISO/IEC 18004), drawn in the page; dark on light whatever the page's colours."""
    file = BytesIO()
    segno.make(text, error="m", micro=False).save(
        file, kind="svg", xmldecl=False, svgns=True, border=4, dark="#000", light="#fff", svgclass="qr", lineclass=None,
        omitsize=True, title=label,
    )  # fmt: skip
    return mark_safe(file.getvalue().decode())  # noqa: S308 - the library escapes the title, the rest is its own
