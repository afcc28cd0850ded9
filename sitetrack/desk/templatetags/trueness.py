"""What the templates of the reading table and its kin say and draw."""

from collections.abc import Mapping
from typing import Any

from django import template
from django.utils.safestring import SafeString, mark_safe

from inspections.trueness.drift import Share
from sitetrack.desk.words import word
from sitetrack.kit.lengths import Length, UnitSystem, format_length

register = template.Library()


@register.simple_tag
def drawn_svg(svg: str) -> SafeString:
    """A frame drawn to scale, as SVG text."""
    return mark_safe(svg)  # noqa: S308 - the drawing escapes its words itself


@register.filter
def judged_list(verdict: Mapping[str, Any]) -> list[Mapping[str, Any]]:
    """The measures judged; a dictionary's own `items` hides them from templates."""
    return list(verdict.get("items", ()))


@register.filter
def limit_text(item: Mapping[str, Any]) -> str:
    """What a measure must lie within, in the units of the answer."""
    least, most = item["least"], item["most"]
    if least["in"] == -most["in"]:
        return f"± {most['text']}"
    if item["name"] == "clear_width":
        return f"≥ {least['text']}"
    return f"{least['text']} … {most['text']}"


@register.filter
def written(length: Length | None, units: UnitSystem) -> str:
    """A length in the site's units, to 1/32 in or 0.1 mm; nothing where there is none."""
    return "" if length is None else format_length(length, units=units)


@register.filter
def mean_shift(length: Length, units: UnitSystem) -> str:
    """A mean, signed and in decimals: nobody reads it off a tape, and fractions would hide what is small."""
    return f"{float(length.mm):+z.2f} mm" if units == "metric" else f"{float(length.inches):+z.3f} in"


@register.filter
def in_feet(length: Length, units: UnitSystem) -> str:
    """A size in feet and inches where the site works in them."""
    return format_length(length, units=units, feet=units == "imperial")


@register.filter
def setting_value(value: str, name: str) -> str:
    """How a setting stands: a rule by its title, a limit as it is written."""
    if name == "gap_rule":
        return word("gap_rule", value)
    return word("rule_set", value) if name == "anchor_rule_set" else value


@register.filter
def share_interval(share: Share) -> str:
    """Where a share lies, in whole per cent; nothing where there is nothing to count."""
    if share.low is None or share.high is None:
        return ""
    return f"{share.low * 100:.0f}–{share.high * 100:.0f} %"
