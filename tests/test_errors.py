"""Sentences for people, compared whole."""

import pytest

from kit.errors import N_FAULTS_IN_FULL, Fault, KitError, lines, shorten, unknown, words

NEGATIVE = Fault(
    "range",
    "-5",
    "0 or more",
    advice="Leave the ball out of the file if it is used up.",
)


def faulty_rows(rows, *, file=""):
    return tuple(Fault("number", "x", "a number", file=file, row=row) for row in rows)


@pytest.mark.parametrize(
    ("fault", "sentence"),
    [
        (
            NEGATIVE.at(file="stash.csv", row=7, column="grams", name="Heather 12"),
            'stash.csv, row 7 ("Heather 12"), grams: found -5, expected 0 or more. '
            "Leave the ball out of the file if it is used up.",
        ),
        (
            NEGATIVE.at(row=7),
            "row 7: found -5, expected 0 or more. "
            "Leave the ball out of the file if it is used up.",
        ),
        (Fault("missing", "nothing", "text"), "found nothing, expected text."),
        (
            Fault("locked", says="stash.csv is open elsewhere", advice="Close it."),
            "stash.csv is open elsewhere. Close it.",
        ),
        (Fault("asks", says="Is this it?", advice="Say."), "Is this it? Say."),
        (Fault("ends", says="It ends.", file="a.csv"), "a.csv: It ends."),
    ],
)
def test_a_fault_in_words(fault, sentence):
    """Where, what was found, what was expected, what to do; one full stop each."""
    assert words(fault) == sentence


def test_at_leaves_the_fault_as_it_was():
    """A place is filled in on a copy."""
    placed = NEGATIVE.at(row=3)
    assert (placed.row, NEGATIVE.row) == (3, None)
    assert placed.at(row=None) == NEGATIVE


def test_error_carries_facts_and_words():
    """A KitError takes one fault or several, is a ValueError, and prints all."""
    one, two = NEGATIVE.at(row=2), NEGATIVE.at(row=3)
    assert KitError(one).faults == (one,)
    error = KitError(fault for fault in (one, two))
    assert error.faults == (one, two)
    assert isinstance(error, ValueError)
    assert str(error) == f"{words(one)}\n{words(two)}"


def test_many_faulty_rows():
    """Twenty rows in full (all faults of a row), then how many more and which."""
    rows = range(2, 2 + N_FAULTS_IN_FULL + 3)
    found = lines(faulty_rows([row for row in rows for _ in range(2)]))
    assert N_FAULTS_IN_FULL == 20
    assert len(found) == 41
    assert found[39] == "row 21: found x, expected a number."
    assert found[40] == "3 more rows have faults: 22, 23, 24."


def test_one_row_more():
    """One row too many is spoken of in the singular."""
    assert lines(faulty_rows(range(2, 23)))[-1] == "1 more row has faults: 22."


def test_hundreds_of_faulty_rows():
    """The list of row numbers ends in an ellipsis, its count does not."""
    last = lines(faulty_rows(range(1, 1001)))[-1]
    assert last.startswith("980 more rows have faults: 21, 22, ")
    assert last.endswith(", 80, ….")


def test_rows_of_two_files_are_kept_apart():
    """Row 7 of the shop is not row 7 of the stash: each file has its own count."""
    both = faulty_rows(range(2, 24), file="stash.csv")
    found = lines(both + faulty_rows(range(2, 23), file="shop.csv"))
    assert found[20] == "stash.csv: 2 more rows have faults: 22, 23."
    assert found[21] == "shop.csv, row 2: found x, expected a number."
    assert found[-1] == "shop.csv: 1 more row has faults: 22."


def test_faults_without_a_row_are_never_left_out():
    """A fault of the whole file is told beside any number of faulty rows."""
    whole = Fault("missing", says="No column called colours", file="stash.csv")
    found = lines((*faulty_rows(range(2, 60), file="stash.csv"), whole))
    assert words(whole) in found


@pytest.mark.parametrize(
    ("word", "known", "sentence"),
    [
        (
            "smothest",
            ["value", "family", "smoothest"],
            'No word called "smothest". Did you mean "smoothest"? Known: value, '
            "family, smoothest.",
        ),
        (
            "Dkk",
            ["lace", "DK"],
            'No word called "Dkk". Did you mean "DK"? Known: lace, DK.',
        ),
        (
            "VALUE",
            ["value"],
            'No word called "VALUE". Did you mean "value"? Known: value.',
        ),
        ("zebra", ["lace", "DK"], 'No word called "zebra". Known: lace, DK.'),
        ("Sage", [], 'No word called "Sage". Known: none.'),
    ],
)
def test_unknown_word(word, known, sentence):
    """The nearest known word is offered, in any case of letters, and all are listed."""
    assert words(unknown("word", word, known)) == sentence


def test_unknown_word_among_many():
    """Thirty known words are listed and the rest is hinted at."""
    said = words(unknown("word", "?", [f"w{i}" for i in range(31)]))
    assert said.endswith("w28, w29, ….")


@pytest.mark.parametrize("length", [0, 1, 59, 60, 61, 1000])
def test_shorten(length):
    """At most 60 characters on one line; a short text stays whole."""
    text = "ab\n" * length
    short = shorten(text[:length])
    assert len(short) <= 60
    assert "\n" not in short
    if length <= 60:
        assert short == " ".join(text[:length].split())
    else:
        assert " … " in short
