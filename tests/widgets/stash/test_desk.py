"""The stash desk, its traits set as a page would set them."""

import csv

import pytest

from kit.blanket.stash_rows import AMOUNTS
from kit.widgets.plain_table import PlainTable
from kit.widgets.stash.desk import StashDesk
from kit.widgets.stash.yarn_fields import ColourField
from tests.helpers.demos import own_demo
from tests.helpers.shelves import draw_nothing

pytestmark = pytest.mark.filterwarnings("ignore::DeprecationWarning")

NOT_SAVED = "Nothing was saved: stash.csv is as it was."


@pytest.fixture(autouse=True)
def quick(request, monkeypatch):
    """Shelf, greys and lengths are drawn only where a test is about them."""
    if "drawn" not in request.fixturenames:
        draw_nothing(monkeypatch)


@pytest.fixture
def drawn():
    """Asked for where the pictures are looked at."""


@pytest.fixture
def folder(tmp_path):
    return own_demo(tmp_path)


@pytest.fixture
def desk(folder):
    return StashDesk(folder)


def rows(folder):
    with (folder / "stash.csv").open(encoding="utf-8", newline="") as file:
        return {row["name"]: row for row in csv.DictReader(file)}


def said(lines):
    """Sentences as they were said: a label holds no more than a line of them."""
    text = " ".join(label.value for label in lines.children)
    return plain(text)


def plain(text):
    """Unit and number are kept together by blanks that do not break."""
    return text.replace("\xa0", " ").replace("\u202f", " ")


def cell(desk, row, heading):
    table = desk.table.table
    return plain(table.rows[row][table.columns.index(heading)])


def move(control, **state):
    """What a page's message does."""
    control.set_state(state)


def type_in(desk, column, text):
    move(desk.one_yarn.form.fields[column], value=text)


def choose(desk, name):
    move(desk.one_yarn.yarn, index=[yarn.name for yarn in desk.yarns].index(name))


def enter(field):
    """What the page sends when Enter is pressed in a text field."""
    field.text._handle_custom_msg({"event": "submit"}, [])


def test_everything_is_there_at_once(drawn, desk):
    """Shelf, greys, lengths, tables and sums stand before any control is touched."""
    for image in (desk.shelf.image, desk.greys.image, desk.totals.lengths):
        assert bytes(image.value).startswith(b"<svg")
    assert len(desk.table.table.rows) == len(desk.table.table.swatches) == 45
    assert said(desk.sum).startswith("44 balls: 1685 g, 6771 m")
    assert "Mended Elbow (dusty rose as #c0737a, L* 57)" in said(desk.assumed.lines)
    assert desk.one_yarn.form.fields["name"].value == "Chart Margin"
    assert desk.undo.disabled


def test_looking_changes_nothing(desk, folder):
    """Yarns, switches and tables can be gone through without a byte written."""
    before = (folder / "stash.csv").read_bytes()
    for name in ("Peat Basket", "Mended Elbow", "Lifebelt", "Raffle Prize"):
        choose(desk, name)
    move(desk.shelf.way, index=1)
    move(desk.totals.lengths_by, index=1)
    desk.one_yarn.next.click()
    desk.which.again.click()
    assert (folder / "stash.csv").read_bytes() == before
    assert not (folder / "stash.csv.bak").exists()


def test_grams_are_saved_and_everything_follows(drawn, desk, folder):
    """A typed number changes file, sums, shelf and table."""
    choose(desk, "Peat Basket")
    before = desk.shelf.image.value
    type_in(desk, "grams", "19")
    assert rows(folder)["Peat Basket"]["grams"] == "19"
    assert said(desk.one_yarn.said) == "Saved in stash.csv: grams left."
    assert said(desk.sum).startswith("44 balls: 1695 g, 6811 m")
    assert desk.shelf.image.value != before
    assert cell(desk, 1, "left") == "19 g"


def test_a_bad_value_is_told_and_nothing_written(desk, folder):
    """The reader's own sentence, under the field's own word; then it is put right."""
    before = (folder / "stash.csv").read_bytes()
    choose(desk, "Peat Basket")
    type_in(desk, "grams", "a few")
    assert said(desk.one_yarn.said) == (
        f"Grams left: found a few, expected a number such as 50 or 50 g. {NOT_SAVED}"
    )
    type_in(desk, "lot", "7")  # does not slip past what is wrong
    assert (folder / "stash.csv").read_bytes() == before
    type_in(desk, "grams", "10")
    row = rows(folder)["Peat Basket"]
    assert (row["grams"], row["lot"]) == ("10", "7")


def test_what_cannot_be_saved_is_said_before_another_yarn_comes(desk, folder):
    """Leaving a yarn with a bad value in a field tells of the loss."""
    choose(desk, "Peat Basket")
    type_in(desk, "grams", "-5")
    choose(desk, "Stove Door")
    assert said(desk.one_yarn.said).startswith(
        'What was typed for "Peat Basket" is gone again:'
    )
    assert desk.one_yarn.form.fields["name"].value == "Stove Door"
    assert rows(folder)["Peat Basket"]["grams"] == "9"


def test_every_kind_of_cell_can_be_changed(desk, folder):
    """Text and listed words; a word of the file's own spelling is kept."""
    choose(desk, "Zinc Bucket")
    changes = {
        "name": "Zinc Pail", "metres": "50", "metres_per_100g": "210 m / 50 g",
        "weight": "DK", "style": "tonal", "surface": "fluffy", "family": "blues",
        "role": "leave out", "fibre": "wool", "lot": "B", "care": "hand wash",
        "notes": "=1+1", "no": "99",
    }  # fmt: skip
    for column, text in changes.items():
        if column in ("weight", "style", "surface", "family", "role"):
            field = desk.one_yarn.form.fields[column]
            move(field, index=[value for _, value in field.options].index(text))
        else:
            type_in(desk, column, text)
    saved = rows(folder)["Zinc Pail"]
    assert {c: saved[c] for c in changes if c in saved} == changes | {"notes": "'=1+1"}
    assert desk.yarns[5].role == "leave out"
    assert "Left out: 2 balls" in said(desk.sum)


def test_a_word_in_the_files_own_spelling_stays(folder):
    """ "Sock" means fingering: it is shown as typed, and not changed by looking."""
    path = folder / "stash.csv"
    path.write_text("name,colours,weight\nSage,#9caf88,Sock\n", encoding="utf-8")
    desk = StashDesk(folder)
    assert desk.one_yarn.form.fields["weight"].value == "Sock"
    type_in(desk, "grams", "50")
    assert rows(folder)["Sage"] == {
        "name": "Sage", "colours": "#9caf88", "weight": "Sock", "grams": "50",
    }  # fmt: skip


def test_ounces_are_shown_where_the_file_has_them(folder):
    """The column that the file has is the one to type in, in the new yarn as well."""
    path = folder / "stash.csv"
    path.write_text("name,colours,ounces\nSage,#9caf88,2\n", encoding="utf-8")
    desk = StashDesk(folder)
    assert desk.one_yarn.form.fields["grams"].layout.display == "none"
    assert desk.one_yarn.form.fields["ounces"].layout.display is None
    assert desk.new_yarn.amount.description == "Ounces left"
    desk.new_yarn.name.value, desk.new_yarn.colours.text.value = "Rust", "#8b3a1e"
    desk.new_yarn.amount.value = "1.5"
    desk.new_yarn.add.click()
    assert rows(folder)["Rust"]["ounces"] == "1.5"


def test_colours_are_seen_while_typed_and_kept_by_enter(desk, folder, monkeypatch):
    """Letters change the swatch alone; Enter saves; a fault is told and seen."""
    monkeypatch.setattr(
        desk.one_yarn.form.colours._later, "ask", lambda _: None
    )  # typing on
    choose(desk, "Stove Door")
    field = desk.one_yarn.form.colours
    swatch = field.swatch.value
    move(field.text, value="#ff0000 50%, #00ff00 50%")
    assert field.swatch.value != swatch
    assert rows(folder)["Stove Door"]["colours"] == "#27282c"
    enter(field)
    assert rows(folder)["Stove Door"]["colours"] == "#ff0000 50%, #00ff00 50%"
    move(field.text, value="#ff000")
    enter(field)
    assert (
        said(field.words)
        == "found #ff000, expected #rrggbb, six digits (here are five)."
    )
    assert said(desk.one_yarn.said).startswith("Colours: found #ff000")
    assert said(desk.one_yarn.said).endswith(NOT_SAVED)


def test_colours_typed_without_enter_are_saved_when_leaving(desk, folder):
    """Going on to another yarn keeps what was typed for the last one."""
    choose(desk, "Stove Door")
    move(desk.one_yarn.form.colours.text, value="#112233")
    choose(desk, "Lifebelt")
    assert rows(folder)["Stove Door"]["colours"] == "#112233"
    assert desk.one_yarn.form.fields["name"].value == "Lifebelt"


def test_colours_are_saved_when_the_typing_rests(desk, folder, monkeypatch):
    """Neither Enter nor another yarn is needed; half a colour is not saved, nor what is
    on the way to another, and nothing is told twice."""
    choose(desk, "Stove Door")
    field, waiting = desk.one_yarn.form.colours, []
    monkeypatch.setattr(field._later, "ask", waiting.append)
    before = rows(folder)["Stove Door"]["colours"]
    for text in ("#11", "#112233", "#112233 60%, #44"):
        move(field.text, value=text)
        assert rows(folder)["Stove Door"]["colours"] == before
    waiting[-1]()
    assert rows(folder)["Stove Door"]["colours"] == before
    move(field.text, value="#112233")
    waiting[-1]()
    assert rows(folder)["Stove Door"]["colours"] == "#112233"
    assert said(desk.one_yarn.said) == "Saved in stash.csv: colours."
    n = len(waiting)
    choose(desk, "Lifebelt")
    assert len(waiting) == n and field.value != "#112233"
    waiting[-1]()
    assert said(desk.one_yarn.said) == ""


def test_a_picked_colour_is_the_first_and_saved_at_once(desk, folder):
    """Shares and the other colours stay."""
    choose(desk, "Crumbs on the Page")
    move(desk.one_yarn.form.colours.picker, value="#f0e8e0")
    assert rows(folder)["Crumbs on the Page"]["colours"] == (
        "#f0e8e0 88%, #9c735a 7%, #d9b77d 5%"
    )


def test_a_label_is_copied_from_another_yarn(desk, folder):
    """Length, fibre and care come; colours, grams and notes stay."""
    choose(desk, "Peat Basket")
    desk.one_yarn.copy.click()
    assert said(desk.one_yarn.said) == "Choose the yarn that this one is the same as."
    before = rows(folder)["Peat Basket"]
    move(desk.one_yarn.like, index=1 + 8)  # Café Steps
    desk.one_yarn.copy.click()
    row = rows(folder)["Peat Basket"]
    changed = {column for column in row if row[column] != before[column]}
    assert changed == {"metres_per_100g", "fibre"}
    assert (row["metres_per_100g"], row["fibre"]) == ("400", "wool")
    desk.one_yarn.copy.click()
    assert said(desk.one_yarn.said) == "Its label says the same already."


def test_a_yarn_is_added_with_the_label_of_another(drawn, desk, folder):
    """It gets the next number, is chosen for changing, and the fields are clear."""
    name = "<img src=x onerror=alert(1)>"
    desk.new_yarn.name.value, desk.new_yarn.amount.value = name, "25 g"
    desk.new_yarn.colours.text.value = "sage 60%, #ffffff 40%"
    move(desk.new_yarn.like, index=1 + 2)  # Damson Lamplight
    desk.new_yarn.add.click()
    row = rows(folder)[name]
    assert (row["no"], row["grams"], row["weight"]) == ("46", "25 g", "lace")
    assert (row["lot"], row["notes"]) == ("", "")
    assert desk.one_yarn.form.fields["name"].value == name
    assert (
        desk.new_yarn.name.value
        == desk.new_yarn.amount.value
        == desk.new_yarn.colours.value
        == ""
    )
    assert desk.table.table.rows[-1][1] == name
    assert b"<img" not in bytes(desk.shelf.image.value)


def test_a_yarn_without_colours_is_not_added(desk, folder):
    """The sentence names the field; what was typed stays to be put right."""
    before = (folder / "stash.csv").read_bytes()
    desk.new_yarn.name.value = "Half"
    desk.new_yarn.add.click()
    assert said(desk.new_yarn.said).startswith(
        "Colours: found nothing, expected a colour"
    )
    assert said(desk.new_yarn.said).endswith(NOT_SAVED)
    assert (folder / "stash.csv").read_bytes() == before
    assert desk.new_yarn.name.value == "Half"


def test_a_row_is_taken_out_and_brought_back(desk, folder):
    """Undo brings back the very bytes."""
    before = (folder / "stash.csv").read_bytes()
    choose(desk, "Raffle Prize")
    desk.one_yarn.take_out.click()
    assert "Raffle Prize" not in rows(folder)
    assert said(desk.one_yarn.said).startswith('"Raffle Prize" is out of stash.csv.')
    assert desk.one_yarn.form.fields["name"].value == "Lifebelt"
    desk.undo.click()
    assert (folder / "stash.csv").read_bytes() == before
    assert desk.undo.disabled


def test_an_edit_made_elsewhere_is_not_written_over(desk, folder):
    """The way out is said; after reading again the change goes through."""
    path = folder / "stash.csv"
    choose(desk, "Peat Basket")
    elsewhere = path.read_bytes().replace(b"#444a51,46", b"#444a51,45")
    path.write_bytes(elsewhere)
    type_in(desk, "grams", "8")
    assert 'Press "Read the files again"' in said(desk.one_yarn.said)
    assert path.read_bytes() == elsewhere
    desk.which.again.click()
    assert desk.one_yarn.form.fields["name"].value == "Peat Basket"
    type_in(desk, "grams", "8")
    saved = rows(folder)
    assert (saved["Peat Basket"]["grams"], saved["Wet Quay"]["grams"]) == ("8", "45")


@pytest.fixture
def imperial(folder):
    """The small demo, which is in ounces and yards."""
    return StashDesk(folder.parent / "pram-cover")


def test_an_imperial_stash_is_weighed_in_yards_and_ounces(drawn, imperial):
    """Fields, sentences, the shelf and the cell that is filled in."""
    desk = imperial
    assert (desk.weighing.length.description, desk.weighing.weight.description) == (
        "Length, yd", "It weighs, oz"
    )  # fmt: skip
    assert desk.weighing.scale.label == "a kitchen scale, ± 0.035 oz"
    assert desk.new_yarn.amount.description == "Ounces left"
    move(desk.weighing.length, value="22")
    move(desk.weighing.weight, value="0.2")
    # 22 yd in 0.2 oz are 110 yd in 1 oz, 388.01... in 100 g: worked by hand
    assert said(desk.weighing.said).startswith(
        "388 yd per 100 g; it may be anything from"
    )
    desk.weighing.use_it.click()
    assert said(desk.weighing.said) == "Saved in stash.csv: yards in 100 g."
    assert "· 1.9 oz" in plain(desk.shelf.svg)
    assert " g<" not in plain(desk.shelf.svg)


def test_a_stash_without_amounts_is_offered_the_units_of_its_blanket(imperial):
    """Where the file has no column yet, the first is one of ounces and yards."""
    folder = imperial.folder
    (folder / "stash.csv").write_text("name,colours\nSage,#9caf88\n", "utf-8")
    fields = StashDesk(folder).one_yarn.form.fields
    shown = [key for key in AMOUNTS if fields[key].layout.display != "none"]
    assert shown == ["ounces", "yards_per_100g", "yards"]


def test_a_length_is_weighed_and_put_in(desk, folder):
    """Both numbers give the figure; the button types it in for the chosen yarn."""
    choose(desk, "Peat Basket")
    move(desk.weighing.length, value="22 yd")
    assert said(desk.weighing.said) == ""
    assert desk.weighing.use_it.disabled
    move(desk.weighing.weight, value="5")
    # By hand: 22 yd = 20.1168 m, / 5 g = 402.3 m in 100 g
    assert said(desk.weighing.said).startswith(
        "402 m per 100 g; it may be anything from"
    )
    desk.weighing.use_it.click()
    assert rows(folder)["Peat Basket"]["metres_per_100g"] == "402"
    assert said(desk.weighing.said) == "Saved in stash.csv: metres in 100 g."
    move(desk.weighing.weight, value="1")
    assert said(desk.weighing.said).startswith(
        "It weighs: found 1 g, expected more than 1 g"
    )
    assert desk.weighing.use_it.disabled


def test_the_table_and_the_list_choose_together(desk):
    """A click on a row chooses the yarn; the list marks the row; Next goes on."""
    move(desk.table.table, chosen=44)
    assert desk.one_yarn.form.fields["name"].value == "Lifebelt"
    desk.one_yarn.next.click()  # the last: on from the first
    assert (desk.one_yarn.yarn.value, desk.table.table.chosen) == (0, 0)
    desk.one_yarn.previous.click()
    assert desk.table.table.chosen == 44


def test_a_row_that_is_not_there_is_no_choice():
    """A page may be behind: a row beyond the last counts as none."""
    table = PlainTable(columns=["a"], rows=[["x"]])
    move(table, chosen=7)
    assert table.chosen == -1


def test_a_faulty_file_is_told_and_the_desk_waits(folder):
    """The desk opens with sentences and a bare shelf, and goes on once put right."""
    path = folder / "stash.csv"
    good = path.read_bytes()
    path.write_bytes(good.replace(b"#423125", b"#42312"))
    desk = StashDesk(folder)
    assert said(desk.which.said).startswith(
        'stash.csv, row 3 ("Peat Basket"), colours:'
    )
    assert desk.yarns == ()
    assert desk.new_yarn.add.disabled
    type_in(desk, "name", "New")
    assert "stash.csv cannot be read as it is" in said(desk.one_yarn.said)
    path.write_bytes(good)
    desk.which.again.click()
    assert len(desk.yarns) == 45
    assert not desk.new_yarn.add.disabled
    assert desk.one_yarn.form.fields["name"].value == "Chart Margin"


def test_another_blanket_is_begun_and_opened(desk, folder):
    """It is chosen at once; a name that is taken is refused; then back to the first."""
    desk.new_blanket.name.value = "Porch throw"
    desk.new_blanket.begin.click()
    new = folder.parent / "Porch-throw"
    assert said(desk.new_blanket.said).startswith(f"Made and open: {new}")
    assert [yarn.name for yarn in desk.yarns] == ["An example"]
    assert desk.which.folder.value == new
    type_in(desk, "name", "Sage")
    assert list(rows(new)) == ["Sage"]
    desk.new_blanket.begin.click()
    assert "is there already, so nothing was made" in said(desk.new_blanket.said)
    move(
        desk.which.folder, index=[p for _, p in desk.which.folder.options].index(folder)
    )
    assert len(desk.yarns) == 45


def test_imperial_is_a_view(folder):
    """Ounces and yards are shown, the file keeps its grams."""
    toml = folder / "blanket.toml"
    text = toml.read_text("utf-8").replace('units = "metric"', 'units = "imperial"')
    toml.write_text(text, encoding="utf-8")
    desk = StashDesk(folder)
    assert "59 oz, 7405 yd" in said(desk.sum)
    assert cell(desk, 0, "left") == "2 oz"


def test_the_swatch_says_what_is_no_colour():
    """An empty field is no fault; a half-typed one is told."""
    field = ColourField()
    assert said(field.words) == "no colour yet"
    move(field.text, value="dusty rows")
    assert 'Did you mean "dusty rose"?' in said(field.words)
    move(field.text, value="dusty rose")
    assert said(field.words).startswith("L* 57")
    assert field.picker.value == "#c0737a"


def test_the_frame_is_there_for_pandas(desk):
    """The last cell of the notebook."""
    assert desk.frame().loc[2, "name"] == "Peat Basket"
