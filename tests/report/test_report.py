"""The plan as files: what was planned is what is written, and names stay names."""

import csv
import io
import json
import re
from html.parser import HTMLParser

import pytest

from kit.colour import mean_lab
from kit.colour.spaces import lab_to_hex
from kit.colour.steps import largest_step
from kit.errors import shorten
from kit.fabric import rows_to_knit
from kit.fabric.stripes import stripe_contrast, stripe_mix, stripe_tex
from kit.plan.facts import all_cautions
from kit.report.page import plan_html
from kit.report.plan_json import plan_data, plan_json
from kit.report.report import summary, write_plan
from kit.report.schedule_csv import schedule_csv
from tests.helpers.plans import balls, planned, toml

MIRRORED = '[colours]\nlayout = "mirrored"\n'
COLOURS = '[colours]\nby = "value"\njump_limit = 12\nbridges = 1\n'
BRIDGES = [
    {"name": "Reed", "colours": "#8a8678", "grams": 25, "role": "bridge"},
    {"name": "Coral", "colours": "#f0b090", "grams": 20, "role": "accent"},
    {"name": "Spare", "colours": "#334455", "grams": "", "role": "leave out"},
]

GAP = [*balls(9)[:3], *balls(9)[6:], *BRIDGES]  # light and dark, nothing between

PLANS = {
    "knitted": lambda: planned(GAP, toml(COLOURS)),
    "colours alone": lambda: planned(balls(6), toml(gauge=False)),
    "not weighed": lambda: planned([*balls(6), {"name": "x", "colours": "#888888"}]),
    "short": lambda: planned(balls(5), toml(length=200)),
    "mirrored": lambda: planned(balls(9), toml(MIRRORED)),
    "one yarn": lambda: planned(
        balls(1), toml("[strands]\nleast = 1\nfabric_tex = 250\n")
    ),
    "one yarn that is too thin": lambda: planned(balls(1)),
    "sections": lambda: planned(
        balls(9),
        toml('[[sections]]\nname = "moss"\nrows = 20\n[[sections]]\n'
             'name = "garter"\nrows = 8\n'),
    ),
}  # fmt: skip
WITH_FABRIC = ("knitted", "short", "mirrored", "one yarn", "sections")
CACHE = {}


def made(kind):
    if kind not in CACHE:
        CACHE[kind] = PLANS[kind]()
    return CACHE[kind]


def as_json(kind):
    return json.loads(plan_json(made(kind)))


# --- plan.json ------------------------------------------------------------------------


@pytest.mark.parametrize("kind", PLANS)
def test_json_reads_back_as_it_was(kind):
    """Full precision both ways, and format 1."""
    data = as_json(kind)
    assert data == plan_data(made(kind))
    assert data["format"] == 2
    assert list(data)[:4] == ["format", "name", "arrangement", "bridges"]


TOP = {
    *("format", "name", "arrangement", "bridges", "bridge_candidates", "look_for"),
    *("advice", "bridges_reordered", "second_opinion"),
    *("yarn", "assumed", "cautions"),
}


@pytest.mark.parametrize("kind", ["colours alone", "not weighed"])
def test_keys_of_what_is_not_built_are_left_out(kind):
    """Without gauge or with an unweighed ball: the colours, and none of the rest."""
    data = as_json(kind)
    assert data.keys() == TOP
    keys = {key for yarn in data["yarn"] for key in yarn}
    assert not {key for key in keys if key.endswith(("_used", "_left", "_back"))}
    assert not {"metres", "first_row"} & {k for one in data["bridges"] for k in one}
    assert not {"metres", "grams"} & {k for one in data["look_for"] for k in one}


@pytest.mark.parametrize("kind", WITH_FABRIC)
def test_every_key_of_the_format_is_there(kind):
    """The format's own words, under fabric, yarn and sizes."""
    data = as_json(kind)
    assert data.keys() == TOP | {"fabric", "short", "sizes", "forecast"}
    assert data["fabric"].keys() == {
        *("stitches", "rows", "width_cm", "length_cm", "largest_step"),
        *("largest_step_by_yarn_order", "stripes"),
    }
    for stripe in data["fabric"]["stripes"]:
        assert stripe.keys() == {
            *("first_row", "first_stitch", "last_row", "last_stitch", "strands"),
            *("carried", "colour", "lab", "tex", "metres_each", "contrast"),
            *("out_of_range", "restart"),
        }
    for yarn in data["yarn"]:
        assert yarn.keys() == {
            *("name", "no", "colours", "value", "family", "role", "grams_have"),
            *("metres_have", "metres_kept_back", "metres_used", "metres_left"),
            *("grams_used", "grams_left"),
        }
    sizes = {"name", "stitches", "rows", "width_cm", "length_cm", "metres", "grams"}
    sizes |= {"margin", "buy_metres", "buy_grams"}
    assert all(sizes <= one.keys() for one in data["sizes"])


@pytest.mark.parametrize("kind", WITH_FABRIC)
def test_yarn_is_conserved_to_the_millimetre(kind):
    """Kept back + used + left = had, for every row of the stash."""
    for yarn in as_json(kind)["yarn"]:
        if yarn["metres_have"] is None:
            assert (yarn["metres_used"], yarn["metres_left"]) == (0, None)
            continue
        parts = (yarn[f"metres_{what}"] for what in ("kept_back", "used", "left"))
        assert round(1000 * sum(parts)) == round(1000 * yarn["metres_have"])


@pytest.mark.parametrize("kind", WITH_FABRIC)
def test_what_the_yarns_give_the_stripes_take(kind):
    """Metres used are those of the stripes; the bridge has its rows among them."""
    data = as_json(kind)
    used_mm = {yarn["name"]: 0 for yarn in data["yarn"]}
    for stripe in data["fabric"]["stripes"]:
        for name in stripe["strands"] + stripe["carried"]:
            used_mm[name] += round(1000 * stripe["metres_each"])
    for yarn in data["yarn"]:
        assert used_mm[yarn["name"]] == round(1000 * yarn["metres_used"])
    for bridge in data["bridges"]:
        held = [s for s in data["fabric"]["stripes"] if bridge["yarn"] in s["strands"]]
        assert bridge["first_row"] == held[0]["first_row"]
        assert bridge["last_row"] == held[-1]["last_row"]
        assert round(1000 * bridge["metres"]) == used_mm[bridge["yarn"]]


def test_a_bridge_is_among_them():
    """The case above has a bridge to speak of, and something to look for."""
    data = as_json("knitted")
    assert [bridge["yarn"] for bridge in data["bridges"]] == ["Reed"]
    assert data["look_for"]
    assert all(one["metres"] > 0 < one["grams"] for one in data["look_for"])


@pytest.mark.parametrize("kind", WITH_FABRIC)
def test_stripes_follow_each_other_and_cover_the_blanket(kind):
    """From row 1, stitch 1, without gap or overlap, to the last row."""
    fabric = as_json(kind)["fabric"]
    width, at = fabric["stitches"], 0
    for stripe in fabric["stripes"]:
        first = (stripe["first_row"] - 1) * width + stripe["first_stitch"] - 1
        last = (stripe["last_row"] - 1) * width + stripe["last_stitch"]
        assert first == at < last
        assert 1 <= stripe["first_stitch"] <= width
        at = last
    assert (fabric["rows"] - 1) * width < at <= fabric["rows"] * width


@pytest.mark.parametrize("kind", WITH_FABRIC)
def test_stripes_look_as_they_are_mixed(kind):
    """Colour and Lab are the mean of the strands' mix, tex their sum."""
    plan = made(kind)
    told = as_json(kind)["fabric"]["stripes"]
    for stripe, one in zip(plan.fabric.stripes, told, strict=True):
        lab = mean_lab(stripe_mix(stripe))
        assert one["lab"] == list(lab)
        assert one["colour"] == lab_to_hex(lab)
        assert one["tex"] == stripe_tex(stripe)
        assert one["contrast"] == stripe_contrast(stripe)


def test_largest_steps_stand_side_by_side():
    """Between stripes, and had the balls been ordered for themselves."""
    plan, data = made("knitted"), as_json("knitted")
    assert data["fabric"]["largest_step"] == largest_step(plan.fabric_steps)
    assert data["fabric"]["largest_step_by_yarn_order"] == plan.largest_by_yarn_order


def test_a_shortage_is_told():
    """Rows, length, metres and grams; null where there is none."""
    short = as_json("short")["short"]
    fabric = as_json("short")["fabric"]
    assert short["rows"] + fabric["rows"] == 520  # 200 cm at 26 rows to 10 cm
    assert short["length_cm"] + fabric["length_cm"] == pytest.approx(200)
    # two strands of 250 tex together weigh half a gram a metre
    assert short["grams"] == pytest.approx(short["metres"] / 4)
    assert as_json("knitted")["short"] is None


def test_units_are_a_view():
    """The imperial plan is the metric one, to the last digit; only words differ."""
    imperial = planned(GAP, 'units = "imperial"\n' + toml(COLOURS))
    in_inches, in_cm = plan_json(imperial), plan_json(made("knitted"))
    assert shown(in_inches) == shown(in_cm)
    assert "swatch of 8 x 8 in (about 0.8 oz)" in in_inches  # 20.32 cm wide
    assert "swatch of 20 x 20 cm (about 22 g)" in in_cm
    pages = [shown(plan_html(p, pictures={})) for p in (imperial, made("knitted"))]
    assert pages[0] == pages[1]


def shown(text):
    """The text without the marks that say which button is pressed, and without what is
    told in the blanket's units alone."""
    worded = r"swatch of .*? (g|oz)\)|typical \d+ (m|yd) per|ball 8 \(\d+ (m|yd)\)"
    worded += "|hundredths of an ounce|tenths of a gram"
    return re.sub(worded, "", text).replace(" checked", "")


def test_an_imperial_schedule_has_ounces_as_well():
    """Every metric column as it was, ounces of each strand at the end; what is said
    to be kept of a ball is in yards."""
    imperial = planned(GAP, 'units = "imperial"\n' + toml(COLOURS))
    lines, metric = (
        [*csv.reader(schedule_csv(p).splitlines())] for p in (imperial, made("knitted"))
    )
    n = len(metric[0])
    end = metric[0].index("end")
    for line, one in zip(lines, metric, strict=True):
        assert line[:end] + line[end + 1 : n] == one[:end] + one[end + 1 :]
    assert lines[1][end] == "break off: 1 ball 0, keep 9.2 yd"
    assert metric[1][end] == "break off: 1 ball 0, keep 8.4 m"
    assert lines[0][n:] == ["ounces_1", "ounces_2"]
    ounce = 453.59237 / 16  # g, avoirdupois pound, exact by definition, 1959
    for line in lines[1:]:
        cells = dict(zip(lines[0], line, strict=True))
        for k in (1, 2):
            grams, ounces = float(cells[f"grams_{k}"]), float(cells[f"ounces_{k}"])
            assert ounces * ounce == pytest.approx(grams, abs=0.05 + ounce * 0.005)


def test_an_imperial_order_has_ounces_as_well():
    """Without fabric: a column at the end."""
    rows = [
        {"name": "A", "colours": "#ffffff", "ounces": "2"},
        {"name": "B", "colours": "#000000", "ounces": ""},
    ]
    plan = planned(rows, 'name = "A"\nunits = "imperial"')
    lines = [*csv.reader(schedule_csv(plan).splitlines())]
    assert [line[-1] for line in lines] == ["ounces", "2.00", ""]
    assert [line[5] for line in lines] == ["grams", "56.699", ""]


def test_named_cautions_stand_in_every_file():
    """Superwash and feltable wool in one stripe: in plan.json and on the page."""
    rows = balls(6)
    for k, row in enumerate(rows):
        row |= {"fibre": "wool", "care": "superwash" if k % 2 else "hand wash"}
    plan = planned(rows)
    named = all_cautions(plan)[-1]
    assert named.startswith("Superwash and feltable wool are held together")
    assert plan_data(plan)["cautions"][-1] == named
    assert "are held together and can pucker" in plan_html(plan, pictures={})


# --- schedule.csv ---------------------------------------------------------------------


def csv_rows(plan):
    text = schedule_csv(plan)
    assert text.startswith("\ufeff")  # so that every spreadsheet sees UTF-8
    return list(csv.DictReader(io.StringIO(text.removeprefix("\ufeff"))))


@pytest.mark.parametrize("kind", WITH_FABRIC)
def test_csv_holds_the_rows_to_knit(kind):
    """One record for a line; rows, metres and totals read back as numbers."""
    plan = made(kind)
    rows, entries = csv_rows(plan), rows_to_knit(plan.fabric, plan.choices)
    assert len(rows) == len(entries)
    for row, entry in zip(rows, entries, strict=True):
        assert None not in row
        assert None not in row.values()
        stripe = entry.stripe
        assert int(row["from_row"]) == stripe.first_row
        assert int(row["to_row"]) == stripe.last_row
        assert float(row["metres_each"]) == pytest.approx(stripe.metres_each, abs=0.05)
        assert float(row["total_metres"]) == pytest.approx(entry.total_m, abs=0.05)
        # International yard, 1959: 0.9144 m
        yards = float(row["total_yards"])
        assert yards == pytest.approx(entry.total_m / 0.9144, abs=0.05)
        held = stripe.strands + stripe.carried
        assert row["strands"] == " + ".join(f"{y.no} {y.name}" for y in held)


def test_csv_tells_joins_ridges_and_parts():
    """What to join, where garter stands, and which part of a shared ball it is."""
    joins = [row["join"] for row in csv_rows(made("mirrored"))]
    assert any("part 2 of 2" in words for words in joins)
    assert joins[0].startswith("cast on: ")
    rows = csv_rows(made("sections"))
    assert {bool(row["first_ridge"]) for row in rows if row["section"] == "moss"} == {
        False
    }
    assert {bool(row["first_ridge"]) for row in rows if row["section"] == "garter"} == {
        True
    }


def test_csv_of_the_colours_alone_is_their_order():
    """A record for each yarn along the blanket."""
    plan = made("colours alone")
    names = [row["name"] for row in csv_rows(plan)]
    assert names == [yarn.name for yarn in plan.design.laid.yarns]


# --- hostile names --------------------------------------------------------------------

HOSTILE = (
    "<script>alert(1)</script>",
    "</title><img src=x onerror=alert(1)>",
    "=cmd|' /C calc'!A0",
    "+1-1",
    "@SUM(A1)",
    "\"double\" & 'single' `back`",
    "$x_1$",
    "{{ 7 * 7 }} {% raw %}",
    "שָׁלוֹם חוט",
    "\N{BALL OF YARN} \N{FAMILY}",
    "comma, semicolon; tab",
    "javascript:alert(1)",
    "x" * 300,
)


@pytest.fixture(scope="module")
def hostile():
    rows = balls(len(HOSTILE), grams=(30,))
    for row, name in zip(rows, HOSTILE, strict=True):
        row["name"] = name
    rows.append({**rows[0], "name": "<b>bridge</b>", "role": "bridge"})
    section = '[[sections]]\nname = "<i>=moss</i>"\nrows = 30\n'
    text = toml(COLOURS + section).replace('"Hall"', "'<u>Hall</u> & \"hall\"'")
    return planned(rows, text)


@pytest.fixture(scope="module")
def tame():
    """The same blanket with plain names in the same alphabetical order."""
    rows = balls(len(HOSTILE), grams=(30,))
    rows.append({**rows[0], "name": "bridge", "role": "bridge"})
    return planned(rows, toml(COLOURS + '[[sections]]\nname = "moss"\nrows = 30\n'))


class Page(HTMLParser):
    """Every start tag with its attributes, what is left open, and the text."""

    VOID = ("meta", "input", "br", "img", "link")

    def __init__(self, text):
        super().__init__()
        self.tags, self.open, self.words = [], [], []
        self.feed(text)
        self.close()

    def handle_starttag(self, tag, attrs):
        self.tags.append((tag, dict(attrs)))
        if tag not in self.VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag, attrs):
        self.tags.append((tag, dict(attrs)))

    def handle_endtag(self, tag):
        assert self.open.pop() == tag

    def handle_data(self, data):
        self.words.append(data)


def markup(plan):
    page = Page(plan_html(plan, pictures={}))
    attributes = {(tag, name) for tag, attrs in page.tags for name in attrs}
    return {tag for tag, _ in page.tags}, attributes


def test_names_do_not_become_markup(hostile, tame):
    """The same kinds of tags and attributes whatever the yarns are called."""
    assert markup(hostile) == markup(tame)


def test_names_are_still_read(hostile):
    """They stand in the page as text, as they were typed (long ones shortened)."""
    words = "".join(Page(plan_html(hostile, pictures={})).words)
    for name in HOSTILE[:-1]:
        assert name in words
    assert f">{shorten(HOSTILE[-1], 80)}</bdi>" in plan_html(hostile, pictures={})
    assert '<u>Hall</u> & "hall"' in words


def test_hostile_names_in_json_and_csv(hostile):
    """Whole in JSON; in CSV no cell begins like a formula."""
    told = {yarn["name"] for yarn in json.loads(plan_json(hostile))["yarn"]}
    assert set(HOSTILE) <= told
    cells = [cell for row in csv_rows(hostile) for cell in row.values()]
    number = re.compile(r"[-+]?[\d.]+")
    for cell in cells:
        assert number.fullmatch(cell) or not cell.startswith(tuple("=+-@\t\r"))
    assert "'=moss" not in cells
    assert "<i>=moss</i>" in cells


# --- plan.html ------------------------------------------------------------------------


@pytest.mark.parametrize("kind", PLANS)
def test_page_is_whole_and_keeps_to_itself(kind):
    """Well nested, one title, no script, no address outside, the strict policy."""
    text = plan_html(made(kind), pictures={})
    page = Page(text)
    assert page.open == []
    kinds = [tag for tag, _ in page.tags]
    assert kinds.count("title") == kinds.count("h1") == kinds.count("main") == 1
    assert not {"script", "link", "iframe", "object", "embed", "base", "a"} & {*kinds}
    for _, attrs in page.tags:
        assert not [name for name in attrs if name.startswith("on")]
        assert not {"href", "xlink:href", "action", "srcset", "style"} & attrs.keys()
        assert attrs.get("src", "data:").startswith("data:")
    assert "http" not in text.replace("http-equiv", "")
    assert "url(" not in text
    assert "@import" not in text
    policy = next(a for tag, a in page.tags if "http-equiv" in a)["content"]
    assert policy.startswith("default-src 'none'; ")
    assert "script" not in policy


@pytest.mark.parametrize("kind", WITH_FABRIC)
def test_page_has_a_box_to_tick_for_every_line(kind):
    """And both units for every quantity, as many of one as of the other."""
    plan = made(kind)
    tags = Page(plan_html(plan, pictures={})).tags
    labels = [attrs.get("aria-label", "") for tag, attrs in tags if tag == "input"]
    ticks = [words for words in labels if words.startswith("rows ")]
    assert len(ticks) == len(rows_to_knit(plan.fabric, plan.choices))
    spans = [attrs.get("class") for tag, attrs in tags if tag == "span"]
    assert spans.count("m") == spans.count("i") > 0


@pytest.mark.parametrize(
    ("units", "pressed"), [("metric", "a4"), ("imperial", "letter")]
)
def test_units_and_paper_begin_as_chosen(units, pressed):
    """Radio buttons before everything they switch, one of each pair pressed."""
    plan = planned(balls(5), f'units = "{units}"\n' + toml())
    tags = Page(plan_html(plan, pictures={})).tags
    radios = [attrs for tag, attrs in tags if attrs.get("type") == "radio"]
    assert {r["id"] for r in radios if "checked" in r} == {units, pressed}
    kinds = [
        tag for tag, attrs in tags if tag == "main" or attrs.get("type") == "radio"
    ]
    assert kinds == ["input"] * 4 + ["main"]


def text_of(kind):
    return " ".join("".join(Page(plan_html(made(kind), pictures={})).words).split())


def test_page_says_what_a_knitter_needs():
    """Each part has its heading where there is something to tell."""
    page = text_of("mirrored")
    for heading in (
        *("Other sizes", "The run as arranged", "Where the flow breaks", "Bridges"),
        *("The yarns", "Before casting on: wind", "Rows to knit", "How sure"),
        *("Take care", "Ball tags to cut out", "Shade card"),
    ):
        assert heading in page
    assert "part 2 of 2" in page
    assert "Before casting on" not in text_of("knitted")
    assert "Rows to knit" not in text_of("colours alone")
    assert "Ball tags" in text_of("colours alone")
    assert "break off" in text_of("mirrored")


def test_page_says_what_is_missing_and_what_to_buy():
    """The shortage in rows and length, and balls of 50 g that would end it."""
    short = as_json("short")["short"]
    page = text_of("short")
    assert f"The yarn ends {short['rows']} rows" in page
    balls_50g = -(-short["grams"] // 50)
    assert f"{balls_50g:.0f} balls of 50 g1.76 oz at about 400 m per 100 g" in page


def test_nothing_to_knit_is_said():
    """One fingering strand cannot make 500 tex: a plan all the same."""
    assert "Nothing can be knitted" in text_of("one yarn that is too thin")
    assert as_json("one yarn that is too thin")["fabric"]["stripes"] == []


def test_nothing_to_knit_is_not_called_enough():
    """Knitted until the yarn ends, no length is missing; still nothing comes of it."""
    page = text_of("one yarn that is too thin")
    assert "Nothing can be knitted: the yarns here do not make 2 to 3 " in page
    last = summary(made("one yarn that is too thin"))[-1]
    assert last.startswith("Nothing can be knitted: the yarns here do not make 2 to 3 ")
    assert "is enough" not in " ".join(summary(made("one yarn that is too thin")))


# --- in words, and on the disk --------------------------------------------------------


def test_summary_of_a_fabric():
    """Stitches and rows, yarn, whether it is enough, steps beside each other."""
    plan = made("knitted")
    size, enough, steps = summary(plan)[-3:]
    fabric, used = plan.fabric, sum(u.used_mm for u in plan.fabric.uses) / 1000
    long = f"{fabric.length_cm:.1f}".removesuffix(".0")
    assert size == (
        f"100 stitches x {fabric.rows} rows, 50 cm x {long} cm; {used:.0f} m, "
        f"{used / 4:.0f} g of yarn used."
    )
    assert enough.startswith("As planned the yarn is enough; ")
    between, balls_ = largest_step(plan.fabric_steps), largest_step(plan.design.steps)
    assert steps == (
        f"Largest step between stripes {between:.1f}, between neighbouring balls "
        f"{balls_:.1f}."
    )


def test_summary_of_a_shortage_in_yards():
    """In the knitter's own units."""
    plan = planned(balls(5), 'units = "imperial"\n' + toml(length=200))
    short = plan.fabric.short
    told = (
        f"The yarn ends {short.rows} rows ({short.length_cm / 2.54:.1f} in) short of "
        f"the wished length: {short.metres / 0.9144:.0f} yd of strand, "
        f"{short.grams / 28.349523125:.0f} oz, are missing."
    )
    assert told in summary(plan)


def test_a_ball_that_stays_whole_is_told_beside_what_is_missing():
    """Too thick for its neighbours, it lies idle: its name, its tex, and the range."""
    thick = {"name": "Rope", "colours": "#808080", "grams": 900}
    plan = planned([*balls(5), {**thick, "metres_per_100g": 80}], toml(length=200))
    assert plan.fabric.short
    (told,) = (line for line in summary(plan) if line.startswith("Not used: "))
    assert told.startswith('Not used: "Rope" (1250 tex): ')
    assert "400 to 725 tex" in told


def test_summary_without_fabric_speaks_of_colours():
    """No stitches where there is no gauge."""
    assert not any("stitch" in line for line in summary(made("colours alone")))


def test_files_are_written_together(tmp_path):
    """The three texts, the fabric inside the page."""
    plan = planned(balls(3))
    write_plan(plan, tmp_path / "plan")
    written = {path.name: path.read_bytes() for path in (tmp_path / "plan").iterdir()}
    assert written.keys() == {"plan.html", "plan.json", "schedule.csv"}
    assert written["plan.json"].decode() == plan_json(plan)
    assert written["schedule.csv"].decode() == schedule_csv(plan)
    assert written["plan.html"].count(b"data:image/png;base64,") == 2
