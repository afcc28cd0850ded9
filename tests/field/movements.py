"""What a hand does on the phone, press by press."""

from tests.field.conftest import Phone

READINGS = {
    "width_head": "36 1/32",
    "width_mid": "36",
    "width_floor": "36 1/16",
    "hinge_plumb_side": "-1/32",
    "hinge_plumb_face": "0",
    "strike_plumb_side": "0",
    "strike_plumb_face": "1/32",
    "squareness": "1/32",
    "alignment": "0",
    "twist": "1/32",
}


def note(phone: Phone, number: str, words: str) -> None:
    """Keep a note at an opening, offline or not."""
    phone.show(f"#/opening/{number}/receive/note")
    phone.page.fill("#note", words)
    phone.page.get_by_role("button", name="Keep the note").click()
    phone.page.wait_for_function("() => !location.hash.endsWith('/note')")


def answer_yes(phone: Phone) -> None:
    """Answer the whole checklist as most of it is expected."""
    for yes in phone.page.get_by_role("button", name="Yes").all():
        yes.click()


def read_frame(phone: Phone, number: str, photo: bytes) -> None:
    """Report the check before board of one opening, as a hand does: answers, readings, a photo if any, and the key."""
    page = phone.page
    phone.show(f"#/opening/{number}/trueness")
    answer_yes(phone)
    for name, text in READINGS.items():
        page.fill(f"#r-{name}", text)
    page.get_by_role("button", name="Done").click()
    if photo:
        page.set_input_files("#camera", {"name": "p.png", "mimeType": "image/png", "buffer": photo})
        page.locator(".photo img").wait_for()
    page.get_by_role("button", name="Report the reading: passes").click()
    page.locator(".own", has_text="You reported").wait_for()


def sign(phone: Phone, number: str, signer: str, code: str) -> None:
    """Sign the reading before board on another's phone, by one's own code."""
    phone.show(f"#/opening/{number}/trueness/sign")
    phone.page.select_option("#signer", signer)
    phone.page.fill("#signing-code", code)
    phone.page.get_by_role("button", name="Sign").click()
    phone.page.wait_for_function("() => !location.hash.endsWith('/sign')")
