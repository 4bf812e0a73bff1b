"""The text of one cell."""

import pytest

from kit.errors import KitError
from kit.files.cells import clean_text, read_choice, read_name


def refusal(read, *args):
    """What a refused cell is told."""
    with pytest.raises(KitError) as caught:
        read(*args)
    return str(caught.value)


@pytest.mark.parametrize(
    ("text", "clean"),
    [
        ("  Sage \n green ", ("Sage green", False)),
        ("Cre\u0300me", ("Crème", False)),
        ("Sage\u00a0green", ("Sage green", False)),
        ("\ufeffSage\u200b", ("Sage", True)),
        ("Sage\u202egreen", ("Sagegreen", True)),
        ("\u2067Sage\u2069", ("Sage", True)),
        ("Sa\x07ge", ("Sage", True)),
        ("\x01 Sage", ("Sage", True)),
        ("👩\u200d🌾", ("👩\u200d🌾", False)),
        ("می\u200cخواهم", ("می\u200cخواهم", False)),
        ("❤\ufe0f", ("❤\ufe0f", False)),
    ],
)
def test_clean_text(text, clean):
    """One spelling, one line, no hidden marks; joiners stay."""
    assert clean_text(text) == clean


def test_names_can_be_seen():
    """Any text is a name, but something must show."""
    assert [read_name(name) for name in ("-", "007", "🧶")] == ["-", "007", "🧶"]
    for name in ("", "\u200d", "\u0300"):
        assert refusal(read_name, name) == "found nothing, expected a name."


def test_words_of_a_list():
    """Case, blanks and hyphens do not matter; a near miss is offered."""
    styles = ("solid", "self-striping")
    for text in ("self striping", "Self-Striping", " SELFSTRIPING", "self_striping"):
        assert read_choice(text, "style", styles) == "self-striping"
    assert refusal(read_choice, "solit", "style", styles) == (
        'No style called "solit". Did you mean "solid"? Known: solid, self-striping.'
    )
