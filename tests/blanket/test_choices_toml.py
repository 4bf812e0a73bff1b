"""blanket.toml as text: read, settings beside it, and changed where it was meant."""

import tomllib
from math import inf

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.blanket.choices import Carry, Kept, Size
from kit.blanket.choices_toml import (
    changed_toml,
    default_sentences,
    read_choices,
    read_settings,
    read_toml,
)
from kit.errors import KitError

TEXTS = [
    'name = "A"\n',
    'name = "A"',
    "# only a remark\n",
    'name = "A"\n[colours]',
    'name = "A"\n\n[colours]  # ours\nby = "value"   # mine\n\n\n[pace]\nuse="all"\n',
    'name = "A"\r\n[colours]\r\nby = "value"  # mine\r\n\r\n[pace]\r\nuse = "all"\r\n',
    'name = "A"\ncolours.by = "value"\n',
    'name = "A"\ncolours = { by = "value" }  # short\n',
    'name="A"\n[pace]\nuse="all"\n[[carry]]\nyarn="x"  # soft\n',
    'name = "A"\n[colours]\norder = [\n  "A", # first\n  "B",\n]\n# end\n',
    'name="A"\n[colours]\nview=1\n[[colours.bridges_kept]]\nyarn="a"\nafter="b"\n'
    'before="c"\n[pace]\nuse="all"\n',
]
VALUES = {
    "by": ["value", "smoothest", None],
    "view": [0, 0.25, None],
    "value_slack": ["none", 8, None],
    "order": [["A", 'B "C"'], [], None],
    "accents": [[["A", "B"]], None],
    "bridges_kept": [[{"yarn": "a", "after": "b", "before": "c"}], [], None],
}


@given(
    st.sampled_from(TEXTS),
    st.fixed_dictionaries(
        {}, optional={k: st.sampled_from(v) for k, v in VALUES.items()}
    ),
)
def test_changed_text_says_what_it_should(text, changes):
    """The text means what it did with the keys changed; remarks and lines stay."""
    changed = changed_toml(text, changes)
    meant = tomllib.loads(text)
    table = meant.pop("colours", {})
    table |= changes
    table = {key: value for key, value in table.items() if value is not None}
    says = tomllib.loads(changed)
    assert says.pop("colours", {}) == table
    assert says == meant
    ends = {line[len(line.rstrip("\r\n")) :] for line in changed.splitlines(True)}
    assert ends <= ({"\r\n"} if "\r\n" in text else {"\n", ""})
    kept = [line for line in text.splitlines() if not is_about(line, changes)]
    lines = iter(changed.splitlines())
    assert all(line in lines for line in kept)  # all there, in the same order


def is_about(line: str, changes) -> bool:
    """Whether a line may change: it states a changed key, or a list that is changed."""
    stated = (
        line.replace("colours.", "").replace("colours = {", "").split("=")[0].strip()
    )
    listed = (
        ("bridges_kept", "yarn", "after", "before") if "bridges_kept" in changes else ()
    )
    in_order = "order" in changes and line.strip(" ],")[:1] in ('"', "")
    return (
        stated.strip("[] ") in (*changes, *listed)
        or in_order
        or "colours = {" in line
        or (line.strip().startswith("[[colours") and bool(listed))
    )


def test_nothing_changed_is_the_same_text():
    """No change and no text that is not there already."""
    for text in TEXTS:
        assert changed_toml(text, {}) == text
        assert changed_toml(text, {"jump_limit": None}) == text


def test_saved_tables_stay_in_their_brackets():
    """A kept bridge is written on one line, as the format shows it."""
    kept = [{"yarn": "a", "after": "b", "before": "c"}]
    assert changed_toml('name = "A"\n', {"bridges_kept": kept}) == (
        'name = "A"\n\n[colours]\n'
        'bridges_kept = [{yarn = "a", after = "b", before = "c"}]\n'
    )


# --- tables other than [colours] ---

FABRICS = [
    'name = "A"',
    'name = "A"\n[gauge]\nstitches_per_10cm = 20\nrows_per_10cm = 30 # r\n'
    '[gauge.swatch]\nwidth_cm=15\nlength_cm=15\ngrams=9\n[colours]\nby="value"\n',
    'name = "A"\n[[sections]] # one\nname = "x" # mine\nrows = 4\n\n# two\n'
    '[[sections]]\nname = "y"\nrows = 6\nrows_per_10cm = 40 # dense\n\n[pace]\n',
    'name = "A"\nsections = [{name="x", rows=4}]\n[size]\nwidth_cm=1\n'
    'length_cm="all" # until\n',
    'name = "A"\r\nsize.width_cm = 3\r\nsize.length_cm = 4\r\n[[carry]]\r\n'
    'yarn="M"\r\n',
]
SWATCH = {"width_cm": 15, "length_cm": 15, "grams": 9.1}
MOSS, PLAIN = {"name": "moss", "rows": 3}, {"name": "plain", "rows": 9}
FABRIC_VALUES = {
    "size.width_cm": [120, 1.5, None],
    "size.length_cm": ["all", 150, None],
    "gauge.swatch": [SWATCH, None],
    "gauge.rows_per_10cm": [28, None],
    "sections": [[MOSS], [MOSS | {"rows_per_10cm": 40}, PLAIN, MOSS], [], None],
    "carry": [[{"yarn": "M", "rows": [1, 60]}], [{"yarn": "N", "section": "x"}], None],
    "units": ["imperial", None],
    "colours.view": [0.5, None],
    "by": ["smoothest", None],
}


@given(
    st.sampled_from(FABRICS),
    st.fixed_dictionaries(
        {}, optional={k: st.sampled_from(v) for k, v in FABRIC_VALUES.items()}
    ),
)
def test_any_table_is_changed(text, changes):
    """Dotted keys change their own table and no other; remarks elsewhere stay."""
    says = tomllib.loads(changed_toml(text, changes))
    meant = tomllib.loads(text)
    for key, value in changes.items():
        table, _, name = (key if key != "by" else "colours.by").rpartition(".")
        inside = meant.setdefault(table, {}) if table else meant
        inside |= {name: value}
        if value is None:
            del inside[name]
    assert {k: v for k, v in says.items() if v != {}} == {
        k: v for k, v in meant.items() if v != {}
    }


def test_changed_sections_keep_their_remarks():
    """Sections that stay keep what is noted beside them; one more is put last."""
    changed = changed_toml(FABRICS[2], {"sections": [MOSS, PLAIN, MOSS]})
    assert changed == (
        'name = "A"\n[[sections]] # one\nname = "moss" # mine\nrows = 3\n\n# two\n'
        '[[sections]]\nname = "plain"\nrows = 9\n\n'
        '[[sections]]\nname = "moss"\nrows = 3\n\n[pace]\n'
    )


# --- --set ----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("word", "key", "value"),
    [
        ("colours.by=value", "colours.by", "value"),
        ('colours.by="value"', "colours.by", "value"),
        (" colours.by = value ", "colours.by", "value"),
        ("colours.value_slack=8", "colours.value_slack", 8.0),
        ("colours.value_slack=none", "colours.value_slack", inf),
        ("size.length_cm=all", "size.length_cm", None),
        (
            "colours.bridges_from=stash and shop",
            "colours.bridges_from",
            "stash and shop",
        ),
        ('colours.order=["A", "B = C"]', "colours.order", ("A", "B = C")),
        ('colours.locked=["A", ["B", "C"]]', "colours.locked", ("A", ("B", "C"))),
        ('colours.left_out=["A"]', "colours.left_out", ("A",)),
        ("name=A=B", "name", "A=B"),
        (
            'colours.bridges_kept=[{yarn="A", after="B", before="C"}]',
            "colours.bridges_kept",
            (Kept("A", "B", "C"),),
        ),
        ('carry=[{yarn="A", rows=[1, 2]}]', "carry", (Carry("A", (1, 2)),)),
    ],
)
def test_setting_is_read(word, key, value):
    """The value is read as TOML, else as text; only the first = parts the two."""
    assert read_settings([word]) == {key: value}


@pytest.mark.parametrize(
    ("word", "sentence"),
    [
        (
            "colours.by",
            '"colours.by" is not of the form KEY=VALUE, as in colours.by=value.',
        ),
        (
            "colours.by=smothest",
            'colours.by: No arrangement called "smothest". Did you mean "smoothest"? '
            "Known: value, family, smoothest.",
        ),
        (
            "colours.bye=value",
            'No key called "colours.bye". Did you mean "colours.by"? Known: '
            "colours.by, colours.layout, colours.times_through, colours.sharing, "
            "colours.families, "
            "colours.family_order, colours.ends, colours.value_slack, "
            "colours.smooth_for, colours.view, colours.jump_limit, "
            "colours.fabric_jump_limit, colours.accents, colours.bridges, "
            "colours.bridges_from, colours.order, colours.locked, "
            "colours.left_out, colours.bridges_kept.",
        ),
        (
            "colours.by=",
            'colours.by: No arrangement called "". Known: value, family, smoothest.',
        ),
    ],
)
def test_wrong_setting_is_said(word, sentence):
    """A setting that is off is one sentence, with no file for a place."""
    with pytest.raises(KitError) as caught:
        read_settings([word])
    assert str(caught.value) == sentence


@pytest.mark.parametrize(
    "value", ["[" * 5000, "1" * 5000, "0x" + "f" * 9999, "{", '"""', "\x00", "=", "é"]
)
def test_odd_setting_is_a_fault(value):
    """Text that is hard to read as TOML is answered in words."""
    with pytest.raises(KitError, match=r"^colours\.view: found "):
        read_settings([f"colours.view={value}"])


@pytest.mark.parametrize("key", ["colours.by", "colours.family_order", "units"])
def test_a_number_too_long_for_a_word_is_a_fault(key):
    """Python prints no number of 9999 hex digits; the answer is a sentence still."""
    with pytest.raises(KitError, match="a number too long to show"):
        read_settings([f"{key}=0x{'f' * 9999}"])


def test_settings_win_over_the_file():
    """A setting replaces what the file says, counts as given, and may complete it."""
    settings = read_settings(["colours.by=value", "size.length_cm=all"])
    text = 'name = "A"\n[colours]\nby = "family"\nview = 1\n[size]\nwidth_cm = 90'
    choices = read_choices(text, settings=settings)
    assert (choices.arranging.by, choices.judging.view) == ("value", 1.0)
    assert choices.making.size == Size(90.0, None)
    assert "colours.by" in choices.given


@pytest.mark.parametrize(
    "text", ["a = " + "[" * 5000, "a = " + "1" * 5000, "=", "a=1\na=2"]
)
def test_unreadable_text_is_a_fault(text):
    """No text is a traceback."""
    with pytest.raises(KitError, match="cannot be read as TOML"):
        read_toml(text)


# --- what a default filled in ---------------------------------------------------------


def test_defaults_are_told():
    """One sentence for each table names what was not given, and that alone."""
    text = 'name = "A"\n[colours]\nby = "value"\nvalue_slack = "none"\nview = 0'
    assert default_sentences(read_choices(text)) == [
        '[colours] by default: families = "alternate", family_order = "hue", '
        'ends = "fixed", smooth_for = "fabric", layout = "light-to-dark", '
        'times_through = 1, sharing = "halve", jump_limit = 25, '
        'fabric_jump_limit = 15, bridges = 1, bridges_from = "stash".',
        "[strands] by default: fabric_tex = 500, thinner = 0.2, thicker = 0.45, "
        "least = 2, most = 3, contrast = 30.",
        '[pace] by default: use = "all".',
    ]


def test_told_defaults_are_toml():
    """What is told can be typed into the file as it stands, and changes nothing."""
    plain = read_choices('name = "A"')
    text = 'name = "A"\n'
    for sentence in default_sentences(plain):
        table, _, rest = sentence.removesuffix(".").partition(" by default: ")
        text += f"{table}\n" + rest.replace(", ", "\n") + "\n"
    stated = read_choices(text)
    assert (stated.arranging, stated.laying) == (plain.arranging, plain.laying)
    assert (stated.judging, stated.bridging) == (plain.judging, plain.bridging)
    assert stated.making == plain.making
    assert default_sentences(stated) == []
