"""An Undo that sends a form again as it was before: for what one form both does and takes back."""

from collections.abc import Mapping
from datetime import date
from typing import Any

from django import forms

from sitetrack.desk.told import Undo


def undo_by_form(address: str, form: forms.Form, before: Mapping[str, Any]) -> Undo:
    """Send the form to `address` with the values `before`; it is judged like anything typed."""
    fields = {form.add_prefix(name): _sent(before.get(name)) for name in form.fields}
    ticked = {name: "on" for name, value in _boxes(form, before).items() if value}
    return Undo(address, {name: text for name, text in fields.items() if name not in _boxes(form, before)} | ticked)


def _boxes(form: forms.Form, before: Mapping[str, Any]) -> dict[str, bool]:
    """Tick boxes by the name they are sent by; one that is not ticked is not sent."""
    boxes = [name for name, field in form.fields.items() if isinstance(field, forms.BooleanField)]
    return {form.add_prefix(name): bool(before.get(name)) for name in boxes}


def _sent(value: Any) -> str:
    if value is None:
        return ""
    return value.isoformat() if isinstance(value, date) else str(value)
