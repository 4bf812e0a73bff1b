"""Which row names our columns, and how it has to be split."""

from functools import partial

import pytest

from kit.files.csv_records import records
from kit.files.header import Source, find_header, header_faults, no_header, squash

KNOWN = ("name", "colours", "grams", "metres_per_100g")
REQUIRED = ("name", "colours")


def source(text, separator):
    return Source(separator, partial(records, text, separator))


def test_the_best_way_to_split_wins():
    """Of all separators the one under which most of our names stand; then the row."""
    text = "My stash, of name\nname;colours;grams\nA;red;5\n"
    header, broken = find_header([source(text, s) for s in ",;\t"], KNOWN, REQUIRED)
    assert (header.source.separator, header.row) == (";", 2)
    assert header.columns == ("name", "colours", "grams")
    assert header.is_whole
    assert broken == []


def test_one_name_of_ours_is_enough_if_it_is_required():
    """A lone "grams" may be anything; a lone "name" is a header that lacks a column."""
    assert find_header([source("grams\n5\n", ",")], KNOWN, REQUIRED) == (None, [])
    header, _ = find_header([source("name\nA\n", ",")], KNOWN, REQUIRED)
    assert not header.is_whole
    assert [f.column for f in header_faults(header, KNOWN, REQUIRED)] == ["colours"]


def test_no_header_at_all():
    """Nothing found: what could not be read is said, else nothing."""
    found, broken = find_header([source('"a"b,c\nd,e\n', ",")], KNOWN, REQUIRED)
    assert found is None
    assert [(fault.code, fault.row) for fault in broken] == [("quote", 1)]
    assert no_header(KNOWN).advice.endswith("name, colours, grams, metres_per_100g.")


@pytest.mark.parametrize(
    "head", ["Metres per 100 g", "METERS-PER_100G", "\ufeffmetres\u200b_per_100g"]
)
def test_one_spelling(head):
    """Case, blanks, dashes and the other spelling do not matter."""
    assert squash(head) == squash("metres_per_100g")
