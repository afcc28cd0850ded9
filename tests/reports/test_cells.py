"""Text made safe for cells. Outside checks: the XML 1.0 parser of the standard library, and UTF-16 as encoded by it."""

import xml.etree.ElementTree as ET

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sitetrack.reports.cells import CUT_MARK, MOST_IN_CELL, clean, cut, disarmed, sheet_name

ANY_TEXT = st.text(st.characters(exclude_categories=()))


@given(ANY_TEXT)
def test_cleaned_text_can_be_carried_by_xml_and_by_utf_8(text):
    cleaned = clean(text)
    element = ET.Element("c")
    element.text = cleaned
    assert (ET.fromstring(ET.tostring(element, "utf-8")).text or "") == cleaned
    assert cleaned.encode("utf-8").decode("utf-8") == cleaned


@pytest.mark.parametrize("text", ["Ñandú Íñiguez", "شركة الأبواب", "Zoë 🚪👷🏽‍♀️", "門枠工", "a\tb\nc"])
def test_names_of_every_script_survive(text):
    assert clean(text) == text


@pytest.mark.parametrize("first", list("=+-@\t\r\n＝＋－＠"))
def test_what_a_spreadsheet_would_run_is_disarmed(first):
    # The characters are those of CWE-1236 and OWASP ASVS 1.2.10, and their full-width forms.
    assert disarmed(f"{first}1+1") == f"'{first}1+1"
    assert disarmed(f"  {first}1+1") == f"'  {first}1+1"


@given(ANY_TEXT)
def test_no_text_that_is_carried_starts_with_what_would_be_run(text):
    shown = disarmed(clean(text))
    assert not shown.lstrip(" \u00a0").startswith(tuple("=+-@\t\r\n＝＋－＠"))


@pytest.mark.parametrize("text", ["", "plain", "A-101", "1+1", "'quoted", '−1/16"'])
def test_harmless_text_is_left_as_it_is(text):
    assert disarmed(text) == text


@given(st.text(st.sampled_from("aé🚪"), min_size=0, max_size=60), st.integers(20, 60))
def test_cut_text_fits_counted_in_utf_16_units_and_says_so(text, most):
    shown = cut(text, most)
    units = len(text.encode("utf-16-le")) // 2
    assert len(shown.encode("utf-16-le")) // 2 <= most
    assert (shown == text) if units <= most else shown.endswith(CUT_MARK)
    assert text.startswith(shown.removesuffix(CUT_MARK))


def test_a_note_of_exactly_one_cell_is_not_cut():
    assert cut("x" * MOST_IN_CELL) == "x" * MOST_IN_CELL
    assert len(cut("x" * (MOST_IN_CELL + 1))) == MOST_IN_CELL


@given(st.text(), st.sets(st.sampled_from(["sheet", "openings", "openings (2)"])), st.integers(1, 40))
def test_sheet_names_keep_within_what_spreadsheets_allow(title, taken, part):
    name = sheet_name(title, taken, part)
    assert 1 <= len(name) <= 31
    assert not set(name) & set("[]:*?/\\")
    assert not name.startswith("'")
    assert not name.endswith("'")
    assert name.lower() not in taken | {"history"}
