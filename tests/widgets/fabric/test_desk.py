"""The fabric desk, its traits set as a page would set them."""

import tomllib
import xml.etree.ElementTree as ET
from base64 import b64decode
from io import BytesIO

import numpy as np
import pytest
from PIL import Image

from kit.errors import Fault, KitError
from kit.files import save_all
from kit.widgets.fabric.desk import FabricDesk
from kit.widgets.fabric.ways import strand_presets
from kit.widgets.fields import CM, NumberField, needed
from kit.widgets.lines import Wrapped
from tests.helpers.demos import own_demo

pytestmark = pytest.mark.filterwarnings("ignore::DeprecationWarning")
SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture
def folder(tmp_path):
    return own_demo(tmp_path)


@pytest.fixture(autouse=True)
def quick(request, monkeypatch):
    """Pictures are drawn only where a test is about them."""
    if not {"drawn", "still"} & set(request.fixturenames):
        monkeypatch.setattr("kit.widgets.fabric.look.near_look", lambda plan: None)


@pytest.fixture
def desk(folder):
    return FabricDesk(folder)


@pytest.fixture
def drawn(folder):
    """A desk with its pictures."""
    return FabricDesk(folder)


@pytest.fixture(scope="module")
def still(tmp_path_factory):
    """One desk for all tests that leave everything as it is."""
    return FabricDesk(own_demo(tmp_path_factory.mktemp("still")))


@pytest.fixture(scope="module")
def still_imperial(tmp_path_factory):
    """The same in inches and ounces."""
    desk = FabricDesk(own_demo(tmp_path_factory.mktemp("imperial")))
    desk.gauge.units.value = "imperial"
    return desk


def chosen(folder):
    return tomllib.loads((folder / "blanket.toml").read_text("utf-8"))


def text(lines) -> str:
    """All the words, blanks that keep a unit beside its number as any other."""
    return " ".join(label.value for label in lines.children).replace("\u00a0", " ")


def move(control, **state):
    """What a page's message does."""
    control.set_state(state)


def type_in(desk, key, typed):
    move(every_field(desk)[key], value=typed)


def every_field(desk):
    """The numbers of blanket.toml, by key."""
    parts = (desk.gauge, desk.size, desk.strands, desk.layout)
    return {key: field for part in parts for key, field in part.fields.items()}


def only_gauge_is_missing(folder):
    """The demo's choices without [gauge]."""
    path = folder / "blanket.toml"
    before = path.read_text("utf-8")
    start, end = before.index("[gauge]"), before.index("[size]")
    path.write_text(before[:start] + before[end:], "utf-8")


# --- what is shown --------------------------------------------------------------------


def test_everything_is_there_at_once(still):
    """Picture, totals, cast-ons and joins stand before any control is touched."""
    assert bytes(still.small.image.value).startswith(b"\x89PNG")
    assert "264 stitches x 450 rows, 120 cm x 150 cm" in text(still.numbers.totals)
    assert "between stripes" in text(still.numbers.totals)
    assert "between neighbouring balls" in text(still.numbers.totals)
    every = (*still.numbers.totals.children, *still.joins.lines.children)
    assert max(len(line.value) for line in every) <= 150  # else the page cuts them
    for part in (still.numbers.totals, still.joins.lines):
        assert part.children[0].layout.margin is None  # clear of what stands above
    widths = [button.description for button in still.size.cast_on]
    # 43 repeats of 6 stitches and 6 at the edges, 22 stitches in 10 cm; 6 more, fewer.
    assert widths == [
        "258 stitches, 42 repeats, 117.3 cm",
        "264 stitches, 43 repeats, 120 cm",
        "270 stitches, 44 repeats, 122.7 cm",
    ]
    assert text(still.joins.lines).startswith("Row 1: cast on: ")


def test_picture_is_as_wide_to_long_as_the_blanket(still):
    """In the SVG 120 cm stand to 150 cm as they will lie; a stitch is one dot."""
    root = ET.fromstring(still.look.image.value)
    image = root.find(f"{SVG}image")
    assert float(image.get("width")) / float(image.get("height")) == pytest.approx(
        120 / 150, rel=1e-3
    )  # the numbers have two decimals
    png = b64decode(image.get("href").removeprefix("data:image/png;base64,"))
    assert Image.open(BytesIO(png)).size == (264, 450)
    small = Image.open(BytesIO(still.small.image.value)).size
    assert small[0] / small[1] == pytest.approx(120 / 150, abs=0.5 / 150)
    marks = [node.text for node in root.iter(f"{SVG}text")]
    assert marks == [
        *("0", "20", "40", "60", "80", "100", "120", "140"),
        *("0", "20", "40", "60", "80", "100", "120"),
    ]


def test_nothing_in_the_picture_runs(still):
    """The SVG is shapes, figures and one embedded picture, nothing else."""
    kinds = {
        node.tag.removeprefix(SVG)
        for node in ET.fromstring(still.look.image.value).iter()
    }
    assert kinds == {"svg", "rect", "image", "path", "text"}


def test_greys_are_neutral(drawn):
    """In greys every dot has red, green and blue alike, and light stays light."""
    was = np.asarray(Image.open(BytesIO(drawn.small.image.value)).convert("RGB"))
    move(drawn.look.greys, value=True)
    now = np.asarray(
        Image.open(BytesIO(drawn.small.image.value)).convert("RGB"), dtype=int
    )
    assert np.ptp(was.astype(int), axis=-1).max() > 50
    assert np.ptp(now, axis=-1).max() == 0
    assert (
        now[-3:].mean() > 200 > 100 > now[:3].mean()
    )  # cream at the foot, coal on top


def test_from_far_contrast_goes_and_the_mean_stays(drawn):
    """Six metres off stitches blend: neighbours differ less, the average stays."""

    def dots():
        href = ET.fromstring(drawn.look.image.value).find(f"{SVG}image").get("href")
        png = b64decode(href.removeprefix("data:image/png;base64,"))
        srgb = np.asarray(Image.open(BytesIO(png)).convert("RGB")) / 255
        return np.where(srgb > 0.04045, ((srgb + 0.055) / 1.055) ** 2.4, srgb / 12.92)

    seen = []
    for distance_m in (0.0, 1.0, 6.0):
        move(drawn.look.distance, value=distance_m)
        seen.append(dots())
    near, _, far = seen
    unlike = [np.abs(np.diff(one, axis=1)).mean() for one in seen]
    assert unlike[0] > 1.5 * unlike[1] > 1.5 * unlike[2]
    # Clipping to what a screen shows and 8 bits move the mean a little.
    assert far.mean(axis=(0, 1)) == pytest.approx(near.mean(axis=(0, 1)), abs=0.01)


def test_denser_rows_are_drawn_lower(drawn):
    """Where sections have rows of other heights, the picture's rows follow them."""
    drawn.sections.table.add.click()
    drawn.sections.table.add.click()
    move(drawn.sections.table.rows[1].height, value="60")
    image = ET.fromstring(drawn.look.image.value).find(f"{SVG}image")
    png = b64decode(image.get("href").removeprefix("data:image/png;base64,"))
    dots = Image.open(BytesIO(png)).size[1]
    # As many rows of dots as the whole length has at the lowest row's height, 10/60 cm.
    assert dots == round(drawn.plan.fabric.length_cm / (10 / 60))


# --- gauge and size -------------------------------------------------------------------


def test_width_changes_stitches_metres_picture_and_file(drawn, folder):
    """All follow a typed width at once; the file keeps its remarks."""
    picture, metres = drawn.look.image.value, text(drawn.numbers.totals)
    type_in(drawn, "size.width_cm", "130")
    assert "288 stitches" in text(drawn.numbers.totals)
    assert drawn.look.image.value != picture
    assert text(drawn.numbers.totals) != metres
    assert text(drawn.small.lines) == text(drawn.numbers.totals)
    assert text(drawn.size.said) == "Saved in blanket.toml."
    saved = (folder / "blanket.toml").read_text("utf-8")
    assert "width_cm = 130\n" in saved
    assert "# both edges together: three plain stitches each" in saved


@pytest.mark.parametrize(
    ("key", "typed", "sentence"),
    [
        (
            "gauge.stitches_per_10cm",
            "0",
            "Stitches in 10 cm: found 0, expected a number above 0.",
        ),
        (
            "gauge.rows_per_10cm",
            "",
            "Rows in 10 cm: found nothing, expected a value.",
        ),
        (
            "gauge.repeat_width_cm",
            "40",
            "One repeat measures: found 40 cm with repeat_stitches = 6, expected about "
            "2.73 cm, as at the flat gauge. Set repeat_stitches to the stitches of the "
            "repeat you measured.",
        ),
        (
            "size.width_cm",
            "4",
            "Width: found 4 cm for a repeat of 2.73 cm and edges of 2.73 cm, expected "
            "at least 5.45 cm. Make the blanket wider, or choose a smaller repeat or "
            "edge.",
        ),
        (
            "size.width_cm",
            "wide",
            "Width: found wide, expected a number such as 120 or 47 in.",
        ),
        (
            "size.repeat_stitches",
            "2.5",
            "Stitches in a repeat: found 2.5, expected a whole number from 1 to 10000.",
        ),
        (
            "strands.least",
            "5",
            'Fewest strands: found 5, expected no more than "Most strands" (3).',
        ),
        (
            "strands.thinner",
            "150",
            "Thinner by up to: found 1.5, expected a number from 0 to 1.",
        ),
        (
            "colours.times_through",
            "0",
            "Times through: found 0, expected a whole number from 1 to 20.",
        ),
    ],
)
def test_a_bad_value_is_a_sentence_beside_the_control(still, key, typed, sentence):
    """It is told in the control's own words; plan and file stay as they were."""
    path, field = still.blanket.folder / "blanket.toml", every_field(still)[key]
    saved, plan, was = path.read_bytes(), still.plan, field.value
    type_in(still, key, typed)
    part = {"colours": "layout"}.get(key.split(".")[0], key.split(".")[0])
    assert text(getattr(still, part).said) == sentence
    assert path.read_bytes() == saved
    assert still.plan is plan
    with getattr(still, part).set_by_program():
        field.value = was


def test_one_repeat_more_is_taken_by_a_button(desk, folder):
    """The width becomes that of the cast-on, and the same stitches come of it."""
    desk.size.cast_on[2].click()
    assert desk.plan.fabric.stitches == 270
    assert chosen(folder)["size"]["width_cm"] == 122.73
    assert desk.size.cast_on[1].description == "270 stitches, 44 repeats, 122.7 cm"


def test_a_weighed_swatch_replaces_the_estimate(desk, folder):
    """Two of three are not enough; all three make the yarn use known."""
    typed = {"width_cm": "15", "length_cm": "15 cm", "grams": "9,1 g"}
    for key in ("width_cm", "length_cm"):
        move(desk.gauge.swatch[key], value=typed[key])
    assert "still blank: Swatch weighs, g." in text(desk.gauge.said)
    assert "swatch" not in chosen(folder)["gauge"]
    move(desk.gauge.swatch["grams"], value=typed["grams"])
    assert chosen(folder)["gauge"]["swatch"] == {
        "width_cm": 15,
        "length_cm": 15,
        "grams": 9.1,
    }
    assert "from the weighed swatch" in text(desk.gauge.lines)
    # 9.1 g at 500 tex are 18.2 m, for 33 x 45 stitches: 12.26 mm each, worked by hand.
    assert "12.3 mm" in text(desk.gauge.lines)
    for field in desk.gauge.swatch.values():
        move(field, value="")
    assert "swatch" not in chosen(folder)["gauge"]


# --- inches and ounces ----------------------------------------------------------------


@pytest.fixture
def imperial(desk):
    """The demo, shown in inches and ounces."""
    desk.gauge.units.value = "imperial"
    return desk


def test_units_reword_every_field_at_once(desk, folder):
    """There and back: labels and numbers change, the blanket does not."""
    shown = {key: field.value for key, field in every_field(desk).items()}
    making = desk.blanket.choices.making
    desk.sections.table.add.click()
    desk.gauge.units.value = "imperial"
    assert chosen(folder)["units"] == "imperial"
    asked = {key: field.description for key, field in every_field(desk).items()}
    assert asked["size.width_cm"] == "Width, in"
    assert asked["size.length_cm"] == "Length, in"
    assert asked["gauge.stitches_per_10cm"] == "Stitches in 4 in"
    assert asked["gauge.rows_per_10cm"] == "Rows in 4 in"
    assert [f.description for f in desk.gauge.swatch.values()] == [
        "Swatch width, in", "Swatch length, in", "Swatch weighs, oz"
    ]  # fmt: skip
    assert desk.sections.table.rows[0].height.description == "Rows in 4 in"
    # 120 cm / 2.54, 22 and 30 to 10 cm times 1.016: worked by hand
    assert desk.size.fields["size.width_cm"].value == "47.24409"
    assert desk.gauge.fields["gauge.stitches_per_10cm"].value == "22.352"
    assert desk.gauge.fields["gauge.rows_per_10cm"].value == "30.48"
    assert " in, " in desk.size.cast_on[1].description + ", "
    assert "0.75 in" in text(desk.gauge.lines)
    desk.sections.table.rows[0].remove.click()
    desk.gauge.units.value = "metric"
    assert {key: field.value for key, field in every_field(desk).items()} == shown
    assert desk.blanket.choices.making == making


def test_the_distance_is_in_feet(desk):
    """As far away as it was, to a foot; twenty feet at most."""
    move(desk.look.distance, value=3.0)
    desk.gauge.units.value = "imperial"
    slider = desk.look.distance
    assert slider.description == "From across the room, ft"
    assert (slider.value, slider.max, slider.step) == (10, 20, 1)
    assert desk.look.distance_m == pytest.approx(3.048)  # 10 ft, exact by definition
    move(slider, value=20.0)
    desk.gauge.units.value = "metric"
    assert (slider.value, slider.max, slider.step) == (6, 6, 0.5)
    assert (slider.description, desk.look.distance_m) == ("From across the room, m", 6)


def test_a_section_counts_over_4_inches(imperial, folder):
    """Its rows are typed as the gauge is, and are there again."""
    imperial.sections.table.add.click()
    move(imperial.sections.table.rows[0].height, value="40")
    assert chosen(folder)["sections"][0]["rows_per_10cm"] == "40 per 4 in"
    assert FabricDesk(folder).sections.table.rows[0].height.value == "40"


def test_buttons_write_inches(imperial, folder):
    """The width of a cast-on, and the length that was reached."""
    imperial.size.cast_on[2].click()
    assert imperial.plan.fabric.stitches == 270
    assert chosen(folder)["size"]["width_cm"] == "48.32 in"  # 122.73 cm
    move(imperial.size.until_end, value=True)
    inches = round(imperial.plan.fabric.length_cm / 2.54)
    move(imperial.size.until_end, value=False)
    assert chosen(folder)["size"]["length_cm"] == f"{inches} in"


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ("wide", "Width: found wide, expected a number such as 28 or 71 cm."),
        (
            "1.5",
            "Width: found 1.5 in for a repeat of 1.07 in and edges of 1.07 in, "
            "expected at least 2.15 in. Make the blanket wider, or choose a smaller "
            "repeat or edge.",
        ),
        ("0", "Width: found 0 in, expected a number above 0."),
        (
            "9999",
            "Width: found 9999, expected 3 937 in or less. See whether a digit or a "
            "decimal point has slipped.",
        ),
    ],
)
def test_a_bad_number_of_inches_is_a_sentence(still_imperial, typed, sentence):
    """In the field's words and the field's unit; the file stays as it was."""
    path = still_imperial.blanket.folder / "blanket.toml"
    saved = path.read_bytes()
    type_in(still_imperial, "size.width_cm", typed)
    assert text(still_imperial.size.said) == sentence
    assert path.read_bytes() == saved


def test_a_repeat_far_off_is_told_in_inches(still_imperial):
    """What it measures and what the flat gauge makes of it; 2.73 cm are 1.07 in."""
    type_in(still_imperial, "gauge.repeat_width_cm", "16")
    assert text(still_imperial.gauge.said) == (
        "One repeat measures: found 16 in with repeat_stitches = 6, expected about "
        "1.07 in, as at the flat gauge. Set repeat_stitches to the stitches of the "
        "repeat you measured."
    )


def test_until_the_yarn_ends(desk, folder):
    """Without a wished length nothing is short; unticked, the length is kept."""
    move(desk.size.until_end, value=True)
    assert chosen(folder)["size"]["length_cm"] == "all"
    assert desk.plan.fabric.rows > 450
    assert desk.size.fields["size.length_cm"].disabled
    reached = round(desk.plan.fabric.length_cm)
    move(desk.size.until_end, value=False)
    assert chosen(folder)["size"]["length_cm"] == reached


def test_too_long_is_said_to_be_short(desk):
    """A length that the yarn does not make is told with what is missing."""
    type_in(desk, "size.length_cm", "400")
    assert "short of the wished length" in text(desk.numbers.totals)
    assert desk.plan.fabric.short is not None


def test_a_blanket_without_gauge_begins_one(folder):
    """The desk says what is missing; both counts typed, there is fabric."""
    only_gauge_is_missing(folder)
    desk = FabricDesk(folder)
    assert "fabric needs both [gauge] and [size]" in text(desk.numbers.totals)
    assert desk.joins.lines.children == ()
    type_in(desk, "gauge.stitches_per_10cm", "22")
    assert "Rows in 10 cm: found nothing" in text(desk.gauge.said)
    type_in(desk, "gauge.rows_per_10cm", "30")
    assert "264 stitches x 450 rows" in text(desk.numbers.totals)
    assert chosen(folder)["gauge"] == {"stitches_per_10cm": 22, "rows_per_10cm": 30}


# --- strands, pace, layout ------------------------------------------------------------


def test_presets_are_the_trade_s_usual_labels():
    """Two fingering strands of 400 m per 100 g make 500 tex: 2 x 100 000 / 400."""
    assert ("two fingering strands (500 tex)", 500.0) in strand_presets()
    texes = [tex for _, tex in strand_presets()]
    assert len(set(texes)) == len(texes)


def test_contrast_over_the_limit_is_told(desk):
    """Every stripe over the limit is named, and none under it."""
    assert "strands held together differ" not in text(desk.numbers.cautions)
    type_in(desk, "strands.contrast", "20")
    told = [
        label.value
        for label in desk.numbers.cautions.children
        if "strands held together differ" in label.value
    ]
    from kit.fabric.stripes import stripe_contrast

    over = [s for s in desk.plan.fabric.stripes if stripe_contrast(s) > 20]
    assert len(told) == len(over) > 0


# --- sections and carried yarn --------------------------------------------------------


def test_sections_are_added_changed_and_removed(desk, folder):
    """Each step is in the file and in the fabric's length."""
    desk.sections.table.add.click()
    assert chosen(folder)["sections"] == [{"name": "section 1", "rows": 20}]
    row = desk.sections.table.rows[0]
    move(row.name, value="moss")
    move(row.n_rows, value="48")
    move(row.height, value="40")
    move(row.factor, value="1,1")
    assert chosen(folder)["sections"] == [
        {"name": "moss", "rows": 48, "rows_per_10cm": 40, "yarn_factor": 1.1}
    ]
    fabric = desk.plan.fabric
    assert fabric.length_cm == pytest.approx(fabric.rows * 10 / 40)
    row.remove.click()
    assert "sections" not in chosen(folder)
    assert desk.plan.fabric.rows == 450


@pytest.mark.parametrize(
    ("field", "typed", "sentence"),
    [
        ("name", " ", "section 1, name: found , expected some text."),
        (
            "n_rows",
            "0",
            "section 1, rows: found 0, expected a whole number from 1 to 100000.",
        ),
        (
            "n_rows",
            "",
            "section 1, Rows: found nothing, expected a number such as 24.",
        ),
        (
            "height",
            "dense",
            "section 1, Rows in 10 cm: found dense, expected a number such as "
            "22 or 22 / 4 in.",
        ),
        (
            "factor",
            "0",
            "section 1, yarn factor: found 0, expected a number above 0.",
        ),
    ],
)
def test_a_bad_section_names_its_field(desk, folder, field, typed, sentence):
    """The one value that is off is told, with its row of the table."""
    desk.sections.table.add.click()
    saved = chosen(folder)["sections"]
    move(getattr(desk.sections.table.rows[0], field), value=typed)
    assert text(desk.sections.said) == sentence
    assert chosen(folder)["sections"] == saved


def carry(desk, name):
    desk.carried.table.add.click()
    row = desk.carried.table.rows[-1]
    move(row.yarn, index=[yarn for _, yarn in row.yarn.options].index(name))
    return desk.carried.table.rows[-1]


def test_a_yarn_is_carried_in_rows_section_or_family(desk, folder):
    """Nothing is saved before a yarn is chosen; then each way is."""
    desk.carried.table.add.click()
    assert "carry" not in chosen(folder)
    desk.carried.table.rows[0].remove.click()
    desk.sections.table.add.click()
    row = carry(desk, "Net on the Wall")
    assert chosen(folder)["carry"] == [{"yarn": "Net on the Wall"}]
    assert "carry: 41 Net on the Wall" in text(desk.joins.lines)
    move(row.where, index=1)
    move(row.last, value="60")
    assert chosen(folder)["carry"] == [{"yarn": "Net on the Wall", "rows": [1, 60]}]
    move(row.first, value="70")
    assert text(desk.carried.said) == (
        "carried 1, rows: found 70 to 60, expected the first row and the last, in this "
        "order."
    )
    move(row.first, value="1")
    move(row.where, index=3)
    move(row.family, index=list(row.family.options).index("blues"))
    assert chosen(folder)["carry"] == [{"yarn": "Net on the Wall", "family": "blues"}]
    move(row.where, index=2)
    assert chosen(folder)["carry"][0]["section"] == "section 1"


def test_a_section_in_use_is_renamed_but_not_removed(desk, folder):
    """The yarn carried in it follows the new name, and is asked for first."""
    desk.sections.table.add.click()
    move(carry(desk, "Net on the Wall").where, index=2)
    move(desk.sections.table.rows[0].name, value="moss")
    assert chosen(folder)["carry"] == [{"yarn": "Net on the Wall", "section": "moss"}]
    assert desk.carried.table.rows[0].section.value == "moss"
    desk.sections.table.rows[0].remove.click()
    assert text(desk.sections.said).startswith("A yarn is carried in this section")
    assert len(desk.sections.table.rows) == 1
    assert "sections" in chosen(folder)


def test_no_section_to_carry_in(desk):
    """Without sections that is said."""
    move(carry(desk, "Net on the Wall").where, index=2)
    assert text(desk.carried.said) == (
        "carried 1: There is no section yet: add one above."
    )


# --- files ----------------------------------------------------------------------------


def test_choices_come_back(desk, folder):
    """What was chosen is there again on the next run."""
    type_in(desk, "size.width_cm", "130")
    desk.sections.table.add.click()
    carry(desk, "Net on the Wall")
    again = FabricDesk(folder)
    assert again.size.fields["size.width_cm"].value == "130"
    assert again.sections.table.rows[0].n_rows.value == "20"
    assert again.carried.table.rows[0].yarn.value == "Net on the Wall"
    assert again.plan.fabric == desk.plan.fabric


def test_an_edit_of_the_file_is_kept_and_shown(desk, folder):
    """A length edited by hand meanwhile joins the width typed here."""
    path = folder / "blanket.toml"
    edited = path.read_text("utf-8").replace("length_cm = 150", "length_cm = 100")
    path.write_text(edited, "utf-8")
    type_in(desk, "size.width_cm", "130")
    assert "288 stitches x 300 rows" in text(desk.numbers.totals)
    assert desk.size.fields["size.length_cm"].value == "100"


def test_a_broken_file_is_told_and_left(desk, folder):
    """A fault that came into the file meanwhile is told beside the control."""
    path = folder / "blanket.toml"
    path.write_text('name = "A"\n[size]\nwidth_cm = "wide"\n', "utf-8")
    type_in(desk, "size.width_cm", "130")
    told = text(desk.size.said)
    assert told.startswith("blanket.toml, size.length_cm: found nothing")
    assert "Nothing is lost" in told
    assert 'width_cm = "wide"' in path.read_text("utf-8")


def test_what_could_not_be_saved_goes_with_the_next_change(desk, folder, monkeypatch):
    """It is told, stays on the page, and is saved once saving works again."""
    before = (folder / "blanket.toml").read_bytes()

    def refuse(*_, **__):
        raise KitError(Fault("read_only", says="blanket.toml cannot be saved"))

    with monkeypatch.context() as patch:
        patch.setattr("kit.widgets.saving.save_choices", refuse)
        type_in(desk, "size.width_cm", "130")
        type_in(desk, "size.length_cm", "140")
        assert text(desk.size.said).startswith("blanket.toml cannot be saved.")
    assert (folder / "blanket.toml").read_bytes() == before
    assert "130" in desk.size.fields["size.width_cm"].value
    type_in(desk, "gauge.rows_per_10cm", "31")
    size = chosen(folder)["size"]
    assert (size["width_cm"], size["length_cm"]) == (130, 140)


def test_a_yarn_deleted_meanwhile_is_passed_over(desk, folder):
    """A choice that names a yarn no longer there: told, not refused; the file is only
    cleaned with the next change."""
    path = folder / "stash.csv"
    name = desk.plan.design.laid.yarns[3].name
    toml = folder / "blanket.toml"
    text_was = toml.read_text("utf-8")
    toml.write_text(text_was.replace("[colours]", f'[colours]\nlocked = ["{name}"]'))
    rows = path.read_text("utf-8").splitlines(keepends=True)
    path.write_text("".join(row for row in rows if name not in row), "utf-8")
    desk.which.again.click()
    assert f'No longer in the stash, so passed over here: "{name}".' in text(
        desk.which.said
    )
    assert chosen(folder)["colours"]["locked"] == [name]
    type_in(desk, "gauge.rows_per_10cm", "31")
    assert "locked" not in chosen(folder)["colours"]


def test_the_plan_is_written_with_its_steps_told(desk, folder, monkeypatch):
    """Three steps are told as they come; the bar goes when it is done."""

    def write(plan, target):  # pages have tests of their own
        save_all(target, {"plan.html": plan.choices.name.encode()})

    monkeypatch.setattr("kit.widgets.fabric.desk.write_plan", write)
    told = []
    desk.progress.observe(
        lambda change: told.append((change.new, text(desk.which.said))), "value"
    )
    desk.write.click()
    assert [step for step, _ in told if step] == [1, 2, 3]
    assert text(desk.which.said) == f"Written: {folder / 'plan' / 'plan.html'}"
    assert desk.progress.layout.visibility == "hidden"
    assert (folder / "plan" / "plan.html").is_file()


def test_another_blanket_is_opened(desk, folder):
    """The chooser lists the blankets beside; choosing one fills every control."""
    other = folder.parent / "small"
    other.mkdir()
    for name in ("stash.csv", "shop.csv", "blanket.toml"):
        (other / name).write_bytes((folder / name).read_bytes())
    toml = (other / "blanket.toml").read_text("utf-8")
    (other / "blanket.toml").write_text(
        toml.replace("width_cm = 120", "width_cm = 60"), "utf-8"
    )
    desk.which.again.click()
    names = [name for name, _ in desk.which.folder.options]
    assert names == ["pram-cover", "reading-room", "small", "wardrobe-store"]
    move(desk.which.folder, index=2)
    assert desk.size.fields["size.width_cm"].value == "60"
    assert desk.plan.fabric.stitches == 132  # 21 repeats of 6, and 6 at the edges


# --- fields ---------------------------------------------------------------------------


def test_a_blank_field_is_no_number():
    """None where nothing is typed; where something is needed, that is said."""
    field = NumberField("Width, cm", CM)
    assert field.number() is None
    with pytest.raises(KitError) as caught:
        needed(field)
    assert str(caught.value) == (
        "Width, cm: found nothing, expected a number such as 120 or 47 in."
    )


def test_whole_numbers_stay_whole():
    """120 is written as 120, 47 in as 119.38."""
    field = NumberField("Width, cm", CM)
    for typed, number in (("120", 120), ("120.0", 120), ("47 in", 119.38)):
        field.value = typed
        assert field.number() == number
        assert isinstance(field.number(), int) == (number == 120)


def test_long_sentences_are_broken_not_cut():
    """Every word is there, on lines of no more letters than said."""
    lines = Wrapped(20)
    sentence = "Make the blanket wider, or choose a smaller repeat."
    lines.say([sentence, "Short."])
    assert text(lines) == f"{sentence} Short."
    assert max(len(label.value) for label in lines.children) <= 20
    lines.say(["That will be 1234567 m long"])
    assert [label.value for label in lines.children] == [
        "That will be",
        "1234567\u00a0m long",
    ]
    lines.say([])
    assert lines.children == ()


def test_the_plan_is_opened_to_be_printed(desk, folder, monkeypatch):
    """The button waits for a plan, opens its page, and says where it lies if no
    browser can be opened."""
    seen = []
    monkeypatch.setattr("webbrowser.open", lambda url: seen.append(url))
    assert desk.open_plan.disabled
    (folder / "plan").mkdir()
    (folder / "plan" / "plan.html").write_text("<p>a plan</p>", "utf-8")
    desk.which.again.click()
    assert not desk.open_plan.disabled
    desk.open_plan.click()
    page = (folder / "plan" / "plan.html").resolve()
    assert seen == [page.as_uri()]
    assert text(desk.which.said) == f"Open it in a browser: {page}"
