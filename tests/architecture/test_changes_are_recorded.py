"""Every service that changes something is on the audit trail and asks for a right first, or says here why not.

Found by reading the code: a public function of a service module that writes, itself or through its module's own parts,
must reach `record_change`, and `must`, through whatever functions of this project it calls.
"""

import ast
from functools import cache
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
PLACES = (
    "openings/services/*.py", "inspections/services/*.py", "inspections/sync/kept_aside.py",
    "sitetrack/access/services/*.py", "sitetrack/reports/*.py", "sitetrack/reports/handover/*.py",
)  # fmt: skip
WRITES = {"save", "delete", "create", "bulk_create", "bulk_update", "get_or_create", "update_or_create"}

SEALED = "the sealed record tells it, and deciding.py judges who may by role, trade and plan"
SERVER = "the server's own work: nobody did it, and what caused it is recorded"
OWN = "a person's own, and nobody else is shown it"
PART = "part of a service that records"
DRAFT = "a draft changes nothing on the site; installing it is recorded, and its row names who drew last"
USE = "use is noted, nothing is changed"
# Writes that are not on the audit trail, each with why.
UNRECORDED = {
    "inspections.services.alerts.write_alerts": PART,
    "inspections.services.announcing.announce": SERVER,
    "inspections.services.check_ins.record_check_ins": SEALED,
    "inspections.services.check_ins.record_desk_reports": SEALED,
    "inspections.services.corrections.correct_check_in": SEALED,
    "inspections.services.corrections.undo_check_in": SEALED,
    "inspections.services.implausible_readings.ask_about_readings": SERVER,
    "inspections.services.mail_outbox.send_mails": SERVER,
    "inspections.services.photos.keep_photo": SEALED,
    "inspections.services.posting_webhooks.post_message": SERVER,
    "inspections.services.profiles.current_profile": SERVER,
    "inspections.services.sending.owe_critical": SERVER,
    "inspections.services.sending.owe_days": SERVER,
    "inspections.services.site_alerts.raise_site_alerts": SERVER,
    "inspections.services.thumbnails.small_photo": SERVER,
    "inspections.services.work_out.work_out": SERVER,
    "inspections.services.posting_webhooks.post_due": SERVER,
    "inspections.services.signing_codes.prove_signers": SEALED,
    "inspections.services.work_out.sweep": SERVER,
    "sitetrack.reports.forecasting.make_forecast": SERVER,
    "sitetrack.reports.keeping.issue_status": SERVER,
    "sitetrack.reports.mailing.owe_anchors": SERVER,
    "sitetrack.reports.mailing.owe_statuses": SERVER,
    "openings.services.changes.next_numbers": PART,
    "openings.services.drafts.hold_file": OWN,
    "openings.services.drafts.settle_file": OWN,
    "openings.services.drafts.let_file_go": OWN,
    "openings.services.drafts.take_back_letting_go": OWN,
    "openings.services.drafts.drop_file": OWN,
    "openings.services.lists.make_list": OWN,
    "openings.services.plans.install_plan": PART,
    "openings.services.plans.follow_version": PART,
    "openings.services.plans.begin_draft": DRAFT,
    "openings.services.plans.change_draft": DRAFT,
    "openings.services.plans.take_back_change": DRAFT,
    "openings.services.plans.drop_draft": DRAFT,
    "openings.services.plans.restore_draft": DRAFT,
    "openings.services.sites.open_site": PART,
    "sitetrack.access.services.codes.begin_codes": "a secret that was not proved counts for nothing",
    "sitetrack.access.services.codes.prove_code": USE,
    "sitetrack.access.services.enrolment.device_of_token": USE,
    "sitetrack.access.services.forgotten.ask_new_password": USE,
    "sitetrack.access.services.looks.note_look": OWN,
    "sitetrack.access.services.looks.mark_seen": OWN,
    "sitetrack.access.services.sessions.note_signed_in": USE,
    "sitetrack.access.services.sessions.note_seen": USE,
    "sitetrack.access.services.sessions.note_new_key": USE,
    "sitetrack.access.services.sessions.forget_session": USE,
    "sitetrack.access.services.sessions.end_sessions": PART,
    "sitetrack.access.services.trail.record_change": "it is the trail",
    "sitetrack.access.services.tries.count_try": USE,
    "sitetrack.access.services.tries.forget_tries": USE,
}
ACCOUNT = "one's own account, proved by who is signed in or by a link"
# Writes on the audit trail that ask for no right of the site, each with why.
WITHOUT_RIGHT = {
    "openings.services.schedule_record.record_changes": PART,
    "openings.services.sites.found_site": "made by whoever keeps the server, who is asked for",
    "inspections.services.mail_wishes.choose_wish": "for oneself, with any role",
    "sitetrack.access.services.codes.confirm_codes": ACCOUNT,
    "sitetrack.access.services.codes.drop_codes": ACCOUNT,
    "sitetrack.access.services.codes.renew_recovery_codes": ACCOUNT,
    "sitetrack.access.services.enrolment.enrol_device": "the code, made by who may, is the right",
    "sitetrack.access.services.enrolment.issue_token": PART,
    "sitetrack.access.services.enrolment.stop_devices": PART,
    "sitetrack.access.services.forgotten.take_new_password": ACCOUNT,
    "sitetrack.access.services.invitations.settle_standing": PART,
    "sitetrack.access.services.invitations.take_invitation": "the link, made by who may and still may, is the right",
    "sitetrack.access.services.passwords.set_password": ACCOUNT,
    "sitetrack.access.services.sessions.sign_out_one": ACCOUNT,
    "sitetrack.access.services.sessions.sign_out_everywhere": ACCOUNT,
    "sitetrack.access.services.signing_code.set_signing_code": ACCOUNT,
    "sitetrack.reports.handover.calendar_keys.new_calendar_key": "for oneself, with any role",
}


@cache
def functions() -> dict[str, tuple[ast.FunctionDef, dict[str, str]]]:
    """Every function and method of the project by its full name, with what names mean in its module."""
    found: dict[str, tuple[ast.FunctionDef, dict[str, str]]] = {}
    for top in ("sitetrack", "openings", "inspections"):
        for path in (ROOT / top).rglob("*.py"):
            module = ".".join(path.relative_to(ROOT).with_suffix("").parts)
            tree = ast.parse(path.read_text(encoding="utf-8"))
            names: dict[str, str] = {}
            for node in tree.body:
                if isinstance(node, ast.ImportFrom) and node.module:
                    names |= {alias.asname or alias.name: f"{node.module}.{alias.name}" for alias in node.names}
                elif isinstance(node, ast.FunctionDef | ast.ClassDef):
                    names[node.name] = f"{module}.{node.name}"
            for node in tree.body:
                if isinstance(node, ast.FunctionDef):
                    found[f"{module}.{node.name}"] = (node, names)
                elif isinstance(node, ast.ClassDef):
                    for part in node.body:
                        if isinstance(part, ast.FunctionDef):
                            # Making an object counts as reaching all of its methods.
                            found[f"{module}.{node.name}.{part.name}"] = (part, names)
    return found


@cache
def parts_of() -> dict[str, set[str]]:
    """By the name of a function or class, the functions that calling it may run: itself, or all methods."""
    found: dict[str, set[str]] = {}
    for name in functions():
        found.setdefault(name, set()).add(name)
        found.setdefault(name.rpartition(".")[0], set()).add(name)
    return found


@cache
def calls(name: str) -> set[str]:
    """The functions of this project that a function names, called or handed on."""
    node, names = functions()[name]
    used = {names[each.id] for each in ast.walk(node) if isinstance(each, ast.Name) and each.id in names}
    return set().union(*(parts_of().get(other, set()) for other in used))


def reach(name: str, within: str = "") -> set[str]:
    """Every function reached from this one, itself too; `within` keeps to one module."""
    seen, ahead = {name}, [name]
    while ahead:
        for other in calls(ahead.pop()) - seen:
            if other.startswith(within):
                seen.add(other)
                ahead.append(other)
    return seen


def writes(name: str) -> bool:
    """Whether this function itself changes rows, as far as can be read: a transaction, or a call that stores."""
    node, _names = functions()[name]
    if any("atomic" in ast.unparse(each) for each in node.decorator_list):
        return True
    for call in ast.walk(node):
        if isinstance(call, ast.Call) and isinstance(call.func, ast.Attribute):
            on = ast.unparse(call.func.value)
            if call.func.attr in WRITES and not on.startswith(("default_storage", "storage")):
                return True
            if call.func.attr == "update" and ("objects" in on or ".filter(" in on):
                return True
    return False


@cache
def changing() -> list[str]:
    """Public functions of service modules that write, themselves or through private parts of their module."""
    found = []
    for place in PLACES:
        for path in ROOT.glob(place):
            module = ".".join(path.relative_to(ROOT).with_suffix("").parts)
            for name in functions():
                short = name.removeprefix(f"{module}.")
                if name.startswith(f"{module}.") and not short.startswith("_") and "." not in short:
                    parts = {each for each in reach(name, module) if each.removeprefix(f"{module}.").startswith("_")}
                    if any(writes(each) for each in parts | {name}):
                        found.append(name)
    return found


def test_the_services_are_found() -> None:
    assert {
        "openings.services.edit.edit_openings", "inspections.services.alerts.close",
        "openings.services.floor_plans.set_plan_picture", "sitetrack.access.services.people.end_standing",
    } <= set(changing())  # fmt: skip


def test_every_change_is_on_the_audit_trail_or_says_why_not() -> None:
    record = "sitetrack.access.services.trail.record_change"
    silent = {name for name in changing() if record not in reach(name) - {name}}
    assert silent - set(UNRECORDED) == set(), "records nothing, and no reason is given"
    assert set(UNRECORDED) - silent == set(), "an exception that is none any more"


def test_every_recorded_change_asks_for_a_right_or_says_why_not() -> None:
    unasked = {name for name in changing() if "sitetrack.access.rights.must" not in reach(name)}
    assert unasked - set(UNRECORDED) - set(WITHOUT_RIGHT) == set(), "asks nobody whether they may"
    assert set(WITHOUT_RIGHT) - unasked == set(), "an exception that is none any more"
