"""The keys of blanket.toml: every one accepted and checked, and what is said."""

import tomllib
from math import inf, isfinite

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.blanket.checks import keys_of
from kit.blanket.choices import SECTION, SWATCH, Carry, Choices, Kept, Size
from kit.blanket.choices_toml import (
    default_sentences,
    read_choices,
    read_settings,
)
from kit.blanket.keys import KEYS, as_toml, check_key, with_changes
from kit.errors import KitError
from kit.yarn import Gauge, Section, Swatch

# Everything the format allows, stated at once, no value the default.
FULL = """
name = "Reading-room throw"
units = "imperial"

[gauge]
stitches_per_10cm = 20
rows_per_10cm = 28.5
swatch = { width_cm = 15, length_cm = 14, grams = 9.1 }
repeat_width_cm = 6.0

[size]
width_cm = 120
length_cm = "all"
repeat_stitches = 12
edge_stitches = 6

[strands]
fabric_tex = 480
thinner = 0.1
thicker = 0.3
least = 1
most = 4
contrast = 25

[colours]
by = "smoothest"
layout = "mirrored"
times_through = 2
sharing = "pair"
families = "light-to-dark"
family_order = ["Blue", "greys"]
ends = "free"
value_slack = "none"
smooth_for = "yarn"
view = 0
jump_limit = 20
fabric_jump_limit = 12.5
accents = [["A", "B"], ["C", "D"]]
bridges = 0
bridges_from = "stash and shop"
order = ["A", "B"]
locked = ["A", ["B", "C"]]
left_out = ["F"]
bridges_kept = [{ yarn = "E", after = "A", before = "B" }]

[pace]
use = "all"
rows_per_colour = 12
longest_rows = 30

[[sections]]
name = "moss stitch"
rows = 48
rows_per_10cm = 40
yarn_factor = 1.1

[[sections]]
name = "plain"
rows = 20

[[carry]]
yarn = "Mist"
rows = [1, 60]

[[carry]]
yarn = "Mist"
section = "moss stitch"

[[carry]]
yarn = "Mist"
family = "Blue"
"""


def said(text: str) -> str:
    with pytest.raises(KitError) as caught:
        read_choices(text)
    return str(caught.value)


def test_every_key_is_accepted():
    """A file that states every key of the format is read, and nothing is lost."""
    choices = read_choices(FULL)
    assert choices.given == set(KEYS)
    assert (choices.name, choices.units) == ("Reading-room throw", "imperial")
    swatch = Swatch(15, 14, 9.1)
    assert choices.making.gauge == Gauge(20, 28.5, swatch, 12, 6.0)
    assert choices.making.size == Size(120, None, 12, 6)
    assert choices.making.sections == (
        Section("moss stitch", 48, 40, 1.1),
        Section("plain", 20),
    )
    assert choices.making.carry == (
        Carry("Mist", rows=(1, 60)),
        Carry("Mist", section="moss stitch"),
        Carry("Mist", family="blues"),
    )
    assert choices.arranging.family_order == ("blues", "neutrals")
    assert choices.arranging.value_slack == inf
    assert choices.judging.accents == (("A", "B"), ("C", "D"))
    assert choices.bridging.bridges_kept == (Kept("E", "A", "B"),)
    assert default_sentences(choices) == []


def test_no_value_of_the_full_file_is_a_default():
    """So a key that is dropped on the way would be noticed."""
    usual, full = Choices("usual"), read_choices(FULL)
    same = [
        field
        for part in ("arranging", "laying", "judging", "bridging")
        for field in getattr(full, part).__dataclass_fields__
        if getattr(getattr(full, part), field) == getattr(getattr(usual, part), field)
    ]
    strands = full.making.strands
    same += [
        field
        for field in strands.__dataclass_fields__
        if getattr(strands, field) == getattr(usual.making.strands, field)
    ]
    assert same == []


COLOURS_KNOWN = {
    "by": ("arrangement", "value, family, smoothest"),
    "layout": ("layout", "light-to-dark, dark-to-light, mirrored"),
    "sharing": ("sharing", "halve, pair"),
    "families": ("way of running families", "alternate, light-to-dark"),
    "family_order": ("family order", "hue, any"),
    "ends": ("ends", "fixed, free"),
    "smooth_for": ("aim", "fabric, yarn"),
    "bridges_from": ("place to take bridges from", "stash, stash and shop"),
}


@pytest.mark.parametrize("key", COLOURS_KNOWN)
def test_unknown_word_is_said_whole(key):
    """A word that a key of [colours] does not know is answered with all it knows."""
    kind, known = COLOURS_KNOWN[key]
    text = f'name = "A"\n[colours]\n{key} = "zzzz"'
    place = f"blanket.toml, colours.{key}: "
    assert said(text) == f'{place}No {kind} called "zzzz". Known: {known}.'


@pytest.mark.parametrize(
    ("line", "sentence"),
    [
        (
            'colours.by = "smothest"',
            'colours.by: No arrangement called "smothest". Did you mean "smoothest"? '
            "Known: value, family, smoothest.",
        ),
        (
            'colours.layout = "mirored"',
            'colours.layout: No layout called "mirored". Did you mean "mirrored"? '
            "Known: light-to-dark, dark-to-light, mirrored.",
        ),
        (
            'units = "metrical"',
            'units: No units called "metrical". Did you mean "metric"? '
            "Known: metric, imperial.",
        ),
        (
            'pace.use = "al"',
            'pace.use: No pace called "al". Did you mean "all"? Known: all.',
        ),
        (
            'colours.family_order = ["blues", "oranje"]',
            'colours.family_order: No family called "oranje". Did you mean "oranges"? '
            "Known: reds, oranges, browns, yellows, olives, greens, teals, blues, "
            "purples, pinks, neutrals.",
        ),
        (
            "colours.view = 1.5",
            "colours.view: found 1.5, expected a number from 0 to 1.",
        ),
        (
            'colours.view = "far"',
            "colours.view: found far, expected a number from 0 to 1.",
        ),
        (
            "colours.view = true",
            "colours.view: found True, expected a number from 0 to 1.",
        ),
        (
            "colours.view = nan",
            "colours.view: found nan, expected a number from 0 to 1.",
        ),
        (
            "colours.value_slack = -1",
            "colours.value_slack: found -1, expected a number from 0 to 100, "
            'or "none".',
        ),
        (
            "colours.value_slack = inf",
            "colours.value_slack: found inf, expected a number from 0 to 100, "
            'or "none".',
        ),
        (
            "colours.bridges = 1.5",
            "colours.bridges: found 1.5, expected a whole number from 0 to 20.",
        ),
        (
            "colours.times_through = 0",
            "colours.times_through: found 0, expected a whole number from 1 to 20.",
        ),
        (
            'colours.order = "A"',
            "colours.order: found A, expected a list of yarn names.",
        ),
        (
            "colours.locked = [3]",
            "colours.locked: found [3], expected some text.",
        ),
        (
            'colours.locked = "A"',
            "colours.locked: found A, expected a list of yarn names, or pairs of them.",
        ),
        (
            'colours.locked = [["A", "A"]]',
            "colours.locked: found [['A', 'A']], expected two different yarn names in "
            "brackets.",
        ),
        (
            'colours.locked = [["A", "B", "C"]]',
            "colours.locked: found [['A', 'B', 'C']], expected two yarn names in "
            "brackets.",
        ),
        (
            'colours.accents = [["A"]]',
            "colours.accents: found [['A']], expected two yarn names in brackets.",
        ),
        (
            'colours.accents = ["A", "B"]',
            "colours.accents: found ['A', 'B'], expected two yarn names in brackets.",
        ),
        (
            'colours.bridges_kept = [{ yarn = "A" }]',
            "colours.bridges_kept: found [{'yarn': 'A'}], expected a table with yarn, "
            "after, before.",
        ),
        (
            'colours.bridges_kept = [{ yarn = "A", afer = "B", after = "B", '
            'before = "C" }]',
            'colours.bridges_kept: No key called "afer". Did you mean "after"? '
            "Known: yarn, after, before.",
        ),
        (
            "gauge.swatch = { width_cm = 15 }\ngauge.stitches_per_10cm = 20\n"
            "gauge.rows_per_10cm = 28",
            "gauge.swatch: found {'width_cm': 15}, expected a table with width_cm, "
            "length_cm, grams.",
        ),
        (
            "size.width_cm = 0\nsize.length_cm = 100",
            "size.width_cm: found 0, expected a number above 0.",
        ),
        (
            'size.width_cm = 100\nsize.length_cm = "most"',
            "size.length_cm: found most, expected a number of cm, or text with its "
            'unit such as "28 in", or "all".',
        ),
        (
            "strands.least = 4",
            "strands.least: found 4, expected no more than strands.most (3).",
        ),
        (
            "strands.most = 0",
            "strands.most: found 0, expected a whole number from 1 to 12.",
        ),
        ("colours = 3", "colours: found 3, expected a table, [colours]."),
        (
            '[[carry]]\nyarn = "Mist"\nrows = [60, 1]',
            "carry: found [{'yarn': 'Mist', 'rows': [60, 1]}], expected the first row "
            "and the last, in this order.",
        ),
        (
            '[[carry]]\nyarn = "Mist"\nfamily = 3',
            "carry: found [{'yarn': 'Mist', 'family': 3}], expected some text.",
        ),
        (
            '[[sections]]\nname = "moss"\nrows = 4\n'
            '[[carry]]\nyarn = "Mist"\nsection = "mos"',
            'carry: No section called "mos". Did you mean "moss"? Known: moss.',
        ),
        (
            "[[carry]]\nrows = [1, 2]",
            "carry: found [{'rows': [1, 2]}], expected a table with yarn.",
        ),
        (
            '[[sections]]\nname = "moss"',
            "sections: found [{'name': 'moss'}], expected a table with name, rows.",
        ),
        (
            '[sections]\nname = "moss"\nrows = 4',
            "sections: found {'name': 'moss', 'rows': 4}, expected a list of tables.",
        ),
    ],
)
def test_wrong_value_is_one_sentence(line, sentence):
    """The key, what was found and what was expected, whole."""
    assert said(f'name = "A"\n{line}') == f"blanket.toml, {sentence}"


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("", "blanket.toml, name: found nothing, expected a value."),
        ('name = " "', "blanket.toml, name: found , expected some text."),
        (
            'name = "A"\n[colors]\nby = "value"',
            'blanket.toml: No key called "colors". Did you mean "colours"? '
            "Known: name, units, sections, carry, gauge, size, strands, colours, pace.",
        ),
        (
            'name = "A"\n[strands]\nfabric_text = 500',
            'blanket.toml: No key called "strands.fabric_text". Did you mean '
            '"strands.fabric_tex"? Known: strands.fabric_tex, strands.thinner, '
            "strands.thicker, strands.least, strands.most, strands.contrast.",
        ),
        (
            'name = "A"\nby = "value"',
            'blanket.toml: No key called "by". Known: colours.by.',
        ),
        (
            'name = "A',
            "blanket.toml: cannot be read as TOML: Illegal character '\\n' "
            "(at line 1, column 10).",
        ),
    ],
)
def test_wrong_file_is_one_sentence(text, sentence):
    """An unknown key, a missing name, no TOML at all."""
    if "Illegal" in sentence:  # the reader's own words may change with Python
        assert said(text).startswith("blanket.toml: cannot be read as TOML: ")
    else:
        assert said(text) == sentence


@pytest.mark.parametrize(
    ("table", "missing"),
    [
        ("[gauge]\nstitches_per_10cm = 22", ["gauge.rows_per_10cm"]),
        ("[gauge]\nrows_per_10cm = 30", ["gauge.stitches_per_10cm"]),
        ("[size]\nwidth_cm = 100", ["size.length_cm"]),
        ("[size]\nrepeat_stitches = 6", ["size.width_cm", "size.length_cm"]),
    ],
)
def test_half_a_table_is_said(table, missing):
    """[gauge] needs both counts and [size] both lengths."""
    place = "blanket.toml, {}: found nothing, expected a value."
    text = f'name = "A"\n{table}'
    assert said(text) == "\n".join(place.format(key) for key in missing)


def test_all_faults_at_once():
    """Every fault of the file is reported, and a faulty key is not called missing."""
    text = 'nam = "A"\n[size]\nwidth_cm = -5\nlength_cm = 1\n[colours]\nview = 2'
    with pytest.raises(KitError) as caught:
        read_choices(text)
    places = [(f.code, f.column or f.found) for f in caught.value.faults]
    assert places == [
        ("unknown", "nam"),
        ("choice", "size.width_cm"),
        ("choice", "colours.view"),
    ]


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        (
            'name = "A"\n[size]\nwidht_cm = 120\nlength_cm = 150',
            'blanket.toml: No key called "size.widht_cm". Did you mean '
            '"size.width_cm"? Known: size.width_cm, size.length_cm, '
            "size.repeat_stitches, size.edge_stitches.",
        ),
        (
            'name = "A"\n[gauge]\nstitches_per_10cm = 22\nrows = 30',
            'blanket.toml: No key called "gauge.rows". Did you mean '
            '"gauge.rows_per_10cm"? Known: gauge.stitches_per_10cm, '
            "gauge.rows_per_10cm, gauge.swatch, gauge.repeat_width_cm.",
        ),
    ],
)
def test_a_misspelt_key_is_one_fault(text, sentence):
    """That the right key is missing follows from it and is not told as well."""
    assert said(text) == sentence


@pytest.mark.parametrize(
    ("line", "sentence"),
    [
        (
            "units = imperial  # a view",
            "line 2 cannot be read: units = imperial # a view. Put text in quotes: "
            'units = "imperial".',
        ),
        (
            "units = \u201cimperial\u201d",
            "line 2 cannot be read: units = \u201cimperial\u201d. Put text in quotes: "
            'units = "imperial".',
        ),
        (
            "size.width_cm = 28 in",
            "line 2 cannot be read: size.width_cm = 28 in. Put text in quotes: "
            'size.width_cm = "28 in".',
        ),
        (
            'size.width_cm = 28"',
            'line 2 cannot be read: size.width_cm = 28". Put text in quotes: '
            "size.width_cm = '28\"'.",
        ),
        (
            "size.width_cm = 71,5",
            "line 2 cannot be read: size.width_cm = 71,5. Write a decimal point: "
            "size.width_cm = 71.5.",
        ),
    ],
)
def test_text_without_quotes_says_how_to_write_it(line, sentence):
    """The line's number, the line, and the same with quotation marks."""
    assert said(f'name = "A"\n{line}') == f"blanket.toml: {sentence}"


# International inch and yard, 1959: exact by definition. 453.59237 g to the pound.
@pytest.mark.parametrize(
    ("text", "cm"),
    [
        ("28 in", 71.12),
        ("28in", 71.12),
        ('28"', 71.12),
        ("28\u2033", 71.12),
        ("28''", 71.12),
        ("28 1/2 inches", 72.39),
        ("2 ft", 60.96),
        ("71 cm", 71.0),
        ("0.7 m", 70.0),
        ("1 yd", 91.44),
    ],
)
def test_a_length_may_name_its_unit(text, cm):
    """As text under its key, wherever a length is asked for, and by --set."""
    for key in ("size.width_cm", "size.length_cm", "gauge.repeat_width_cm"):
        assert check_key(key, text) == pytest.approx(cm, rel=1e-12)
    assert read_settings([f"size.width_cm={text}"]) == {
        "size.width_cm": pytest.approx(cm, rel=1e-12)
    }


@pytest.mark.parametrize(
    ("text", "per_10cm"),
    [
        ("22 / 4 in", 220 / 10.16),
        ("22 sts / 4 in", 220 / 10.16),
        ("22 stitches per 4 inches", 220 / 10.16),
        ('22 sts in 4"', 220 / 10.16),
        ("5.5 per inch", 55 / 2.54),
        ("22 1/2 sts / 10 cm", 22.5),
        ("30 rows to 10cm", 30.0),
    ],
)
def test_a_count_may_name_what_it_is_over(text, per_10cm):
    """Four inches are 10.16 cm, not 10: 22 over 4 in are fewer over 10 cm."""
    counted = check_key("gauge.stitches_per_10cm", text)
    assert counted == pytest.approx(per_10cm, rel=1e-12)


def test_a_swatch_may_be_in_inches_and_ounces():
    """Each of its three measures by itself."""
    swatch = {"width_cm": "6 in", "length_cm": 15, "grams": "0.32 oz"}
    read = check_key("gauge.swatch", swatch)
    assert (read.width_cm, read.length_cm) == (pytest.approx(15.24), 15)
    assert read.grams == pytest.approx(0.32 * 453.59237 / 16, rel=1e-12)


@pytest.mark.parametrize(
    ("line", "sentence"),
    [
        (
            '"28"',
            "size.width_cm: found 28, expected a number of cm without quotation marks, "
            'or text with its unit such as "28 in".',
        ),
        (
            '"28 inchs"',
            "size.width_cm: found 28 inchs, expected a number of cm, or text with its "
            'unit such as "28 in".',
        ),
        (
            '"1,234 in"',
            "size.width_cm: found 1,234 in, expected a number that can be read one way "
            "only.",
        ),
        (
            '"60000 in"',
            "size.width_cm: found 60000 in, expected 10 000 cm or less.",
        ),
        ('"0 in"', "size.width_cm: found 0 in, expected a number above 0."),
    ],
)
def test_a_wrong_unit_is_one_sentence(line, sentence):
    """What the key takes as text is told as well."""
    text = f'name = "A"\n[size]\nlength_cm = 1\nwidth_cm = {line}'
    assert said(text) == f"blanket.toml, {sentence}"


def test_a_swatch_names_the_measure_that_is_off():
    """Its three measures look alike."""
    line = 'gauge.swatch = { width_cm = "6", length_cm = 6, grams = 9 }'
    assert said(
        f'name = "A"\ngauge.stitches_per_10cm = 22\n{line}\ngauge.rows_per_10cm = 30'
    ) == (
        "blanket.toml, gauge.swatch: found {'width_cm': '6', 'length_cm': 6, "
        "'grams': 9}, expected a number of cm without quotation marks, or text with "
        'its unit such as "28 in", for width_cm.'
    )


def test_every_key_says_what_it_is():
    """In one sentence; a key whose name ends in a unit has that unit."""
    nested = {f"gauge.swatch.{name}": one for name, one in SWATCH.items()}
    nested |= {f"sections.{name}": one for name, one in SECTION.items()}
    for kind in (Kept, Carry):
        nested |= {
            f"{kind.__name__}.{name}": one for name, one in keys_of(kind).items()
        }
    endings = {"cm": "cm", "tex": "tex", "stitches": "stitches", "rows": "rows"}
    for key, one in (KEYS | nested).items():
        assert one.says[0].isupper() and one.says.endswith("."), key
        assert ". " not in one.says and len(one.says) < 130, key
        ending = key.rpartition(".")[2].rpartition("_")[2]
        assert one.unit == endings.get(ending, one.unit) or "per_10cm" in key, key
    assert KEYS["gauge.rows_per_10cm"].unit == "rows"
    assert KEYS["colours.jump_limit"].unit == "ΔE00"


def test_needed_keys_have_no_default():
    """A table without them is answered; every other key stands for itself."""
    needed = {key for key, one in KEYS.items() if one.needed}
    assert needed == {
        "name",
        "gauge.stitches_per_10cm",
        "gauge.rows_per_10cm",
        "size.width_cm",
        "size.length_cm",
    }
    assert SECTION["yarn_factor"].default == Section("plain", 2).yarn_factor
    assert all(one.needed for one in SWATCH.values())


@pytest.mark.parametrize("key", sorted(KEYS))
def test_every_key_is_checked(key):
    """No key takes a value that is of no kind it could be."""
    for wrong in (object(), {"zz": 1}, -(10**400), [[[]]]):
        with pytest.raises(KitError) as caught:
            check_key(key, wrong)
        assert all(fault.column == key for fault in caught.value.faults)


JUNK = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=5),
    lambda inner: (
        st.lists(inner, max_size=3)
        | st.dictionaries(
            st.sampled_from(["yarn", "after", "before", "rows", "name", "family", "x"]),
            inner,
            max_size=3,
        )
    ),
    max_leaves=6,
)


@given(st.sampled_from(sorted(KEYS)), JUNK)
def test_nothing_but_faults(key, value):
    """Whatever a key is given, it is taken or answered in words, never a traceback."""
    try:
        taken = check_key(key, value)
    except KitError as error:
        assert str(error)
    else:
        hash(taken)  # frozen
        if isinstance(taken, float):
            assert isfinite(taken) or key == "colours.value_slack"


# --- changed choices ------------------------------------------------------------------


@given(
    st.dictionaries(
        st.sampled_from(["by", "view", "bridges", "accents", "value_slack", "layout"]),
        st.none() | st.just("x"),
    )
)
def test_changed_choices_are_what_the_file_would_say(keys):
    """Other choices under [colours] equal those of a file that states them."""
    values = {
        "by": "smoothest",
        "view": 0.25,
        "bridges": 3,
        "accents": [["A", "B"]],
        "value_slack": "none",
        "layout": "mirrored",
    }
    stated = tomllib.loads(FULL)
    changes = {key: keys[key] and values[key] for key in keys}
    for key, value in changes.items():
        if value is None:
            stated["colours"].pop(key)
        else:
            stated["colours"][key] = value
    changed = with_changes(read_choices(FULL), changes)
    lines = [f"{key} = {toml(value)}" for key, value in stated["colours"].items()]
    head, tail = FULL.split("[colours]")[0], "[pace]" + FULL.split("[pace]")[1]
    assert changed == read_choices(
        head + "\n".join(["[colours]", *lines]) + "\n" + tail
    )


def toml(value) -> str:
    """A value of the full file as TOML."""
    if isinstance(value, dict):
        return "{" + ", ".join(f"{k} = {toml(v)}" for k, v in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(map(toml, value)) + "]"
    return f'"{value}"' if isinstance(value, str) else str(value)


def test_unknown_changed_key_is_said():
    """A key that [colours] does not have is refused, set or taken out."""
    for value in ("value", None):
        with pytest.raises(KitError, match=r'^No key called "colours\.bye"\. Did you '):
            with_changes(Choices("A"), {"bye": value})


def test_names_are_read_as_in_the_stash():
    """One line, one spelling, nothing unseen: so names match, and move no terminal."""
    text = 'name = "Ha\\u001b[1mll\\u202e\\uffff"\n[colours]\nlocked = ["Cre\\u0300me"]'
    choices = read_choices(text)
    assert choices.name == "Ha[1mll"
    assert choices.arranging.locked == ("Crème",)


def test_none_for_nothing():
    """An empty list is no key at all."""
    assert as_toml(()) is None
