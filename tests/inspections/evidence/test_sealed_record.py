"""The sealed record. Outside checks: what RFC 8785 prints (section 3.2 and appendix B), and its library."""

import hashlib
import io
import json
import struct
import subprocess
import sys
from pathlib import Path

import pytest
import rfc8785
from django.core.management import CommandError, call_command
from hypothesis import given
from hypothesis import strategies as st

from inspections.evidence.verifying import Anchor, anchor_of, check_anchor, faults_of, parse_anchor
from inspections.models import CheckIn, FrameCheck, SealedEntry, SignOff
from sitetrack.reports import offline_verify
from tests import builders as make

SCRIPT = Path(offline_verify.__file__)


@pytest.fixture
def site():
    """Two openings read and signed, one of them read again after its reading was taken back."""
    site = make.site("clinic")
    for opening in make.openings(site, 2):
        at = make.work_up_to(opening, "trueness")
    make.check_in(make.supervisor(site), opening, "trueness", "void", about=last("check").subject, at=at)
    make.frame_check(make.crew(site), opening, at=at, note="Íñiguez 🚪 \u2028 \x7f", readings=make.TWISTED_READINGS)
    return site


def last(kind):
    return SealedEntry.objects.filter(kind=kind).order_by("-n")[0]


def words(site):
    return "\n".join(map(str, faults_of(site)))


@pytest.mark.django_db
def test_a_record_nobody_touched_is_whole(site):
    assert words(site) == ""
    kinds = list(SealedEntry.objects.order_by("n").values_list("kind", flat=True))
    assert kinds.count("check") == FrameCheck.objects.count()
    assert kinds.count("signature") == SignOff.objects.count()
    assert kinds[-2:] == ["void", "check"]


@pytest.mark.django_db
@pytest.mark.parametrize(
    "change",
    [
        lambda s: FrameCheck.objects.filter(pk=s).update(verdict="pass"),
        lambda s: FrameCheck.objects.filter(pk=s).update(judged={}),
        lambda s: CheckIn.objects.filter(pk=s).update(readings=make.TRUE_READINGS),
        lambda s: CheckIn.objects.filter(pk=s).update(corrected_at=make.MONDAY),
        lambda s: CheckIn.objects.filter(pk=s).update(person=make.person()),
        lambda s: CheckIn.objects.filter(pk=s).update(note=""),
    ],
)
def test_an_altered_check_is_found_and_named(site, change):
    entry = last("check")
    assert change(entry.subject) == 1
    assert f"entry {entry.n}," in words(site)
    assert str(entry.subject) in words(site)
    assert "what it seals was altered" in words(site)


@pytest.mark.django_db
def test_an_altered_signature_is_found_in_both_chains(site):
    SignOff.objects.filter(n=1).update(waiver_reason="agreed")
    assert "sign-off 1 of" in words(site)
    assert "what it seals was altered" in words(site)


@pytest.mark.django_db
def test_a_removed_entry_is_found_and_what_it_sealed_is_named(site):
    entry = SealedEntry.objects.get(n=2)
    entry.delete()
    assert "entry 2 before it removed" in words(site)
    assert str(entry.subject) in words(site)


@pytest.mark.django_db
def test_a_check_in_removed_with_its_check_is_named_by_its_entry(site):
    entry = last("check")
    FrameCheck.objects.filter(pk=entry.subject).delete()
    CheckIn.objects.filter(pk=entry.subject).delete()
    assert f"entry {entry.n}," in words(site)
    assert "the check-in it seals was removed" in words(site)


@pytest.mark.django_db
def test_entries_put_in_another_order_are_found(site):
    first, second = SealedEntry.objects.order_by("n")[:2]
    SealedEntry.objects.filter(pk=first.pk).update(n=9999)
    SealedEntry.objects.filter(pk=second.pk).update(n=first.n)
    SealedEntry.objects.filter(pk=first.pk).update(n=second.n)
    assert "put in another order" in words(site)


@pytest.mark.django_db
def test_an_altered_entry_is_found_even_where_its_own_digest_was_made_anew(site):
    entry = SealedEntry.objects.get(n=2)
    FrameCheck.objects.filter(pk=entry.subject).update(verdict="fail")
    SealedEntry.objects.filter(pk=entry.pk).update(digest=hashlib.sha256(b"forged").hexdigest())
    assert "entry 2, " in words(site)
    assert "entry 3, " in words(site)


@pytest.mark.django_db
def test_an_end_cut_off_with_its_facts_is_found_by_an_anchor_kept_elsewhere(site):
    anchor = parse_anchor(str(anchor_of(site)))
    entry = last("check")
    FrameCheck.objects.filter(pk=entry.subject).delete()
    CheckIn.objects.filter(pk=entry.subject).delete()
    entry.delete()
    assert words(site) == ""
    assert "cut off" in str(check_anchor(site, anchor))
    assert "rewritten" in str(check_anchor(site, Anchor("clinic", 1, "0" * 64)))


@pytest.mark.django_db
def test_queries_do_not_grow_with_the_record(site, django_assert_num_queries):
    with django_assert_num_queries(8):
        list(faults_of(site))
    for opening in make.openings(site, 6):
        make.work_up_to(opening, "trueness")
    with django_assert_num_queries(8):
        list(faults_of(site))


@pytest.mark.django_db
def test_the_command_says_whole_or_names_what_is_wrong(site):
    said = io.StringIO()
    call_command("verify_record", site="clinic", stdout=said)
    assert "is whole" in said.getvalue()
    assert str(anchor_of(site)) in said.getvalue()
    FrameCheck.objects.update(verdict="pass")
    said = io.StringIO()
    with pytest.raises(CommandError, match="not whole"):
        call_command("verify_record", site="clinic", stdout=said)
    assert f"entry {last('check').n}," in said.getvalue()


@pytest.mark.django_db
@pytest.mark.parametrize(("options", "said"), [({"site": "x"}, "no site"), ({"anchor": "clinic 4"}, "expected a site")])
def test_what_it_cannot_verify_it_says(site, options, said):
    with pytest.raises(CommandError, match=said):
        call_command("verify_record", **({"site": "clinic"} | options))


@pytest.mark.django_db
def test_the_exported_record_is_verified_by_the_script_alone(site, tmp_path):
    path = tmp_path / "record.json"
    call_command("verify_record", site="clinic", out=path, stdout=io.StringIO())
    run = [sys.executable, "-I", str(SCRIPT), str(path)]
    assert subprocess.run(run, check=False, capture_output=True).returncode == 0
    record = json.loads(path.read_text("utf-8"))
    assert len(record["entries"]) == SealedEntry.objects.count()
    record["entries"][-1]["content"]["readings"]["twist"] = "0"
    path.write_text(json.dumps(record))
    altered = subprocess.run(run, check=False, capture_output=True, text=True)
    assert altered.returncode == 1
    assert f"entry {record['entries'][-1]['heading']['n']}: its content was altered" in altered.stdout


def test_the_script_is_forty_lines_of_code_at_most():
    lines = [line for line in SCRIPT.read_text("utf-8").split('"""', 2)[2].splitlines() if line.strip()]
    assert len(lines) <= 40


# RFC 8785, appendix B: IEEE 754 as hexadecimal, and how it is written.
NUMBERS = [
    ("0000000000000000", "0"), ("8000000000000000", "0"), ("0000000000000001", "5e-324"),
    ("8000000000000001", "-5e-324"), ("7fefffffffffffff", "1.7976931348623157e+308"),
    ("ffefffffffffffff", "-1.7976931348623157e+308"), ("4340000000000000", "9007199254740992"),
    ("c340000000000000", "-9007199254740992"), ("4430000000000000", "295147905179352830000"),
    ("44b52d02c7e14af5", "9.999999999999997e+22"), ("44b52d02c7e14af6", "1e+23"),
    ("44b52d02c7e14af7", "1.0000000000000001e+23"), ("444b1ae4d6e2ef4e", "999999999999999700000"),
    ("444b1ae4d6e2ef4f", "999999999999999900000"), ("444b1ae4d6e2ef50", "1e+21"),
    ("3eb0c6f7a0b5ed8c", "9.999999999999997e-7"), ("3eb0c6f7a0b5ed8d", "0.000001"),
    ("41b3de4355555553", "333333333.3333332"), ("41b3de4355555554", "333333333.33333325"),
    ("becbf647612f3696", "-0.0000033333333333333333"), ("43143ff3c1cb0959", "1424953923781206.2"),
]  # fmt: skip


@pytest.mark.parametrize(("bits", "written"), NUMBERS)
def test_numbers_are_written_as_rfc_8785_appendix_b_writes_them(bits, written):
    value = struct.unpack(">d", bytes.fromhex(bits))[0]
    assert rfc8785.dumps(value).decode() == written
    assert offline_verify.canonical(value) == written


def test_the_worked_example_of_rfc_8785_comes_out_as_printed_there():
    """RFC 8785, 3.2.2 and 3.2.3."""
    given_ = json.loads(
        r'{"numbers":[333333333.33333329,1E30,4.50,2e-3,0.000000000000000000000000001],'
        r'"string":"\u20ac$\u000F\u000aA\u0027\u0042\u0022\u005c\\\"\/","literals":[null,true,false]}'
    )
    printed = (
        r'{"literals":[null,true,false],"numbers":[333333333.3333333,1e+30,4.5,0.002,1e-27],'
        '"string":"€$\\u000f\\nA\'B\\"\\\\\\\\\\"/"}'
    )
    assert rfc8785.dumps(given_).decode() == printed
    assert offline_verify.canonical(given_) == printed
    names = json.loads(r'{"\u20ac":1,"\r":2,"\ufb33":3,"1":4,"\ud83d\ude00":5,"\u0080":6,"\u00f6":7}')
    assert list(json.loads(offline_verify.canonical(names)).values()) == [2, 4, 6, 7, 1, 5, 3]


JSON = st.recursive(
    st.none() | st.booleans() | st.integers(-(2**53) + 1, 2**53 - 1) | st.floats(allow_nan=False, allow_infinity=False)
    | st.text(st.characters(exclude_categories=["Cs"])),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=6), inner, max_size=4),
)  # fmt: skip


@given(JSON)
def test_the_script_and_the_library_write_the_same_canonical_json(value):
    assert offline_verify.canonical(value) == rfc8785.dumps(value).decode()
