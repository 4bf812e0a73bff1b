"""blanket.toml changed as text: what it says, and what stays as it was."""

import tomllib

from hypothesis import given
from hypothesis import strategies as st

from kit.blanket.choices_toml import changed_toml

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
