"""Every convention just inside its edge and just outside, in one table.

A row: what is promised and where that is written (DESIGN.md, the format's standard, or
"ours" where the kit sets it and says so beside the value); the call that keeps it; what
that call takes inside, and what outside. Inside it gives True, outside False.
"""

import cmath
import datetime as dt
import random
import zlib
from dataclasses import replace
from math import radians

import colour
import numpy as np
import pytest

from kit.arrangement.layout import _alike
from kit.blanket.stash_csv import read_stash
from kit.colour import Mix, mean_lab, read_mix, steps_along
from kit.colour.causes import term_words, why
from kit.colour.mixes import solid
from kit.colour.steps import hue_turns
from kit.errors import KitError, unknown
from kit.fabric.posterior import expected
from kit.fabric.schedule import _turns
from kit.fabric.setup import set_up
from kit.fabric.strand_chains import prior
from kit.fabric.tolerance import Limits
from kit.files import read_quantity, read_rows
from kit.files.archive import Archive
from kit.files.decoding import decode
from kit.files.quantities import CM, GRAMS, METRES_PER_100G, read_tag
from kit.files.workbook import read_sheets
from kit.needles.knitted import knitted_by_log
from kit.needles.log import ROWS
from kit.needles.replan import is_worth_moving
from kit.needles.weighings import weighings_of, without_odd
from kit.photo.grey_card import cards_seen, exposure, tinted
from kit.photo.image import Photo, linear_to_srgb255
from kit.photo.regions import Region, pixels_in
from kit.yarn import Gauge, Section
from kit.yarn.measured_length import MeasuredLength, length_lines
from tests.helpers.coverages import a_mirrored_plan, a_plan
from tests.helpers.knitter import as_log
from tests.helpers.runs import run_of_sizes
from tests.helpers.workbooks import packed, xlsx_parts
from tests.helpers.yarns import yarn
from tests.needles.test_readings import TWO, read, weighed


def reads(call, *arguments, **more) -> bool:
    """Whether a call takes what it is given, instead of refusing it in words."""
    try:
        call(*arguments, **more)
    except KitError:
        return False
    return True


# --- colour ---------------------------------------------------------------------------


def reasons(*sizes, limit=25.0):
    """How the first of these steps breaks the flow."""
    (first, *_) = steps_along(run_of_sizes(*sizes), view=0.5, limit=limit)
    return first.reasons


def nearest(k) -> bool:
    """Whether the k-th nearest of the other steps has a say in what stands out.

    Beside a step of 11: four of 6, three of a half, then 6 again but for the k-th. One
    more half among the eight nearest, and their median falls from 6 to under 4.
    """
    others = [6, 6, 6, 6, 0.5, 0.5, 0.5, 6, 6]
    others[k - 1] = 0.5
    return reasons(11, *others) == ("stands out",)


def turns(degrees=61.0, chroma=10.0) -> bool:
    """Whether the hue turns between two colours of this C*, so far apart in hue."""
    polar = (cmath.rect(chroma, radians(hue)) for hue in (0, degrees))
    return hue_turns([solid((50, z.real, z.imag)) for z in polar]) == 1


def busier(size) -> bool:
    """Whether two greys, on average so far from their mean, are busier than a solid."""
    low, high = 0.0, 40.0
    for _ in range(60):
        middle = (low + high) / 2
        mix = Mix(((50 - middle, 0, 0), (50 + middle, 0, 0)), (1, 1))
        off = colour.delta_E(mix.labs, [mean_lab(mix)] * 2, method="CIE 2000")
        low, high = (middle, high) if off.mean() < size else (low, middle)
    return why([solid((50, 0, 0))], [mix])[0].endswith("busier")


def by_lightness(share):
    """Two colours of one hue; lightness makes this share of the squared difference.

    S_L and S_C of CIEDE2000 look at L* and C* alone, so each can be made apart.
    """
    ends = (50, 20, 0), (50, 30, 0)
    chroma = float(colour.delta_E(*ends, method="CIE 2000"))
    dark, light = run_of_sizes(chroma * (share / (1 - share)) ** 0.5, start=50)
    return solid((50, 20, 0)), solid((light.labs[0][0], 30, 0))


COLOUR = [
    ("a jump is over the limit", "DESIGN.md, Jump",
     lambda size: reasons(size) == ("large",), 25.001, 24.999),
    ("what stands out is over 10", "DESIGN.md, Jump",
     lambda size: reasons(size, 1, 1) == ("stands out",), 10.001, 9.999),
    ("what stands out is over twice the median", "DESIGN.md, Jump",
     lambda size: reasons(size, 6, 6) == ("stands out",), 12.001, 11.999),
    ("the median of the eight nearest", "DESIGN.md, Jump", nearest, 8, 9),
    ("a hue turn is over 60 degrees", "DESIGN.md, Arrangement", turns, 60.01, 59.99),
    ("a hue needs a C* of 8", "ours",
     lambda chroma: turns(chroma=chroma), 8.001, 7.999),
    ("a cause is named over 0.5", "ours",
     lambda size: why(*([one] for one in run_of_sizes(size))) != ["hardly any change"],
     0.501, 0.499),
    ("a cause makes up a fifth of the square", "ours",
     lambda share: "lighter" in why(*([one] for one in by_lightness(share)))[0],
     0.2001, 0.1999),
    ("a term is told from a twentieth of the square", "ours",
     lambda share: "lighter" in term_words(*by_lightness(share)), 0.0501, 0.0499),
    ("busier is over 8", "ours", busier, 8.001, 7.999),
    ("shares may miss 100 % by 1.5", "ours",
     lambda share: reads(read_mix, f"#fff 50%, #000 {share}%"), 51.5, 51.6),
]  # fmt: skip

# --- arrangement and fabric -----------------------------------------------------------


def stand_for_each_other(apart) -> bool:
    """Whether two small balls so far apart are shared out, one to each half."""
    mixes = run_of_sizes(apart)
    return _alike([yarn(str(k), mix, grams=10) for k, mix in enumerate(mixes)]) != []


def are_told_in_turn(rows) -> bool:
    """Whether two sections that come round after so many rows are told one by one."""
    return len(_turns([Section("moss", 6), Section("ridges", rows - 6)], 60)) > 1


LAID = [
    ("small balls within 10 stand for each other", "ours",
     stand_for_each_other, 9.999, 10.001),
    ("sections under twelve rows are one pattern", "ours", are_told_in_turn, 12, 11),
]  # fmt: skip

# --- yarn -----------------------------------------------------------------------------

YARN = [
    ("limits a fifth apart ask for more yarn to be measured", "ours",
     lambda most: "Measure off" in length_lines(MeasuredLength(440, 400, most))[-1],
     480.1, 480),
    ("a repeat is at most three times the flat gauge", "ours",
     lambda cm: reads(Gauge, 20, 30, repeat_stitches=2, repeat_width_cm=cm), 3.0, 3.01),
    ("a repeat is at least a third of the flat gauge", "ours",
     lambda cm: reads(Gauge, 20, 30, repeat_stitches=6, repeat_width_cm=cm), 1.0, 0.99),
    ("a section has at most 100 000 rows", "ours",
     lambda rows: reads(Section, "moss", rows), 100_000, 100_001),
]  # fmt: skip

# --- files ----------------------------------------------------------------------------


def date_since(said) -> bool:
    """Whether a workbook that says this of its date1904 counts its days from 1904."""
    made = xlsx_parts({"Yarn": [[dt.date(2026, 3, 2)]]})
    said = f'<workbookPr date1904="{said}"/><sheets>'
    made["xl/workbook.xml"] = made["xl/workbook.xml"].replace("<sheets>", said)
    (sheet,) = read_sheets(packed(made))
    return list(sheet.records()) == [(1, ["2030-03-03"])]


def header_in(row) -> bool:
    """Whether a header in this row is found."""
    text = "A title\n" * (row - 1) + "name,colours\nSage,#9caf88\n"
    return reads(read_rows, text.encode(), known=("name", "colours"), required=())


def told_in_full(row) -> bool:
    """Whether the fault of this one of 25 faulty rows is told in full."""
    rows = "".join(f"Sage {n},nothing\n" for n in range(1, 26))
    with pytest.raises(KitError) as error:
        read_stash(f"name,colours\n{rows}".encode())
    return f'"Sage {row}"' in str(error.value)


def is_unpacked(n_bytes) -> bool:
    """Whether so many blanks are unpacked, packed a thousand times smaller."""
    return reads(Archive(packed({"a": " " * n_bytes})).part, "a")


def is_date(number) -> bool:
    """Whether this built-in number format makes a date of a number."""
    made = xlsx_parts({"Yarn": [[dt.date(2026, 3, 2)]]})
    styles = made["xl/styles.xml"].replace('numFmtId="14"', f'numFmtId="{number}"')
    (sheet,) = read_sheets(packed(made | {"xl/styles.xml": styles}))
    return sheet.dates == {(1, 1)}


def unpacks(times) -> bool:
    """Whether two megabytes are unpacked that were packed so many times smaller."""
    n_bytes, noise = 2_000_000, random.Random(1).randbytes(20_000)
    wanted = n_bytes // times
    tries = range(wanted - 3_200, wanted, 25)  # the zeros take up to 3 000 bytes
    made = (noise[:n] + bytes(n_bytes - n) for n in tries)
    data = next(one for one in made if len(zlib.compress(one)) >= wanted)
    return reads(Archive(packed({"a": data})).part, "a")


def told_of_nul(n_bytes) -> bool:
    """Whether so many NUL bytes of 80 are said of the whole file, not of a row."""
    with pytest.raises(KitError) as error:
        decode(b"a" * (80 - n_bytes) + bytes(n_bytes))
    return "all through" in str(error.value)


def notes_of(*columns):
    """What is told of a table with these columns beside a known one."""
    text = ",".join(("name", *columns)) + "\nSage\n"
    known = ("name", "abcdefgh")
    return " ".join(read_rows(text.encode(), known=known, required=known[:1])[0].notes)


FILES = [
    ("number formats 14 and up are dates", "ECMA-376 part 1, 18.8.30", is_date, 14, 13),
    ("up to 22", "ECMA-376 part 1, 18.8.30", is_date, 22, 23),
    ("45 and up are times", "ECMA-376 part 1, 18.8.30", is_date, 45, 44),
    ("up to 47", "ECMA-376 part 1, 18.8.30", is_date, 47, 48),
    ("over a megabyte, 200 times smaller at most", "ours", unpacks, 197, 203),
    ("over an eighth of NUL bytes is no text", "ours", told_of_nul, 11, 10),
    ("twelve columns of one's own are listed", "ours",
     lambda n: f'"own{n}"' in notes_of(*map("own{}".format, range(1, 16))), 12, 13),
    ("a column's name is near by three letters of four", "ours",
     lambda head: "Did you mean" in notes_of(head), "abcdefxy", "abcdefgxyzw"),
    ("a word is near by three letters of five", "ours",
     lambda words: "Did you mean" in unknown("word", words[0], words[1:]).says,
     ("abcxy", "abcde"), ("abcdexyz", "abcdefghi")),
    ("a fraction has at most sixteen parts", "ours",
     lambda parts: reads(read_quantity, f"1/{parts}", GRAMS), 16, 17),
    ("days count from 1904 by 1", "ECMA-376 part 1, 18.2.28", date_since, "1", "0"),
    ("days count from 1904 by true", "W3C XML Schema part 2, 3.2.2, boolean",
     date_since, "true", "false"),
    ("a header is in the first ten rows", "ours", header_in, 10, 11),
    ("a cell holds 10 000 characters", "DESIGN.md, stash.csv",
     lambda n: reads(read_stash, f"name,colours,notes\nA,#fff,{'x' * n}\n".encode()),
     10_000, 10_001),
    ("twenty faulty rows are told in full", "DESIGN.md, stash.csv",
     told_in_full, 20, 21),
    ("a ball is no heavier than 100 kg", "ours",
     lambda grams: reads(read_quantity, str(grams), GRAMS), 100_000, 100_001),
    ("a length is not under nothing", "ours",
     lambda cm: reads(read_quantity, str(cm), CM), 0, -0.1),
    ("a label says 1 m in 100 g or more", "ours",
     lambda metres: reads(read_quantity, str(metres), METRES_PER_100G), 1, 0.99),
    ("a label says 20 km in 100 g or less", "ours",
     lambda metres: reads(read_quantity, str(metres), METRES_PER_100G), 20_000, 20_001),
    ("a tag has six digits", "ours",
     lambda tag: reads(read_tag, str(tag)), 999_999, 1_000_000),
    ("a word is begun by four letters", "ours",
     lambda word: "Did you mean" in unknown("word", word, ["mirrored"]).says,
     "mirr", "mir"),
    ("a workbook has at most 5 000 parts", "ours",
     lambda n: reads(Archive, packed({str(k): "" for k in range(n)})), 5_000, 5_001),
    ("what is small may be packed 1000:1", "ours",
     is_unpacked, 1_000_000, 1_000_001),
]  # fmt: skip

# --- blanket --------------------------------------------------------------------------


def colour_of(n) -> bytes:
    """A stash of one colour in so many characters: its share has many decimals."""
    return f"name,colours\nA,#fff 100.{'0' * (n - 10)}%\n".encode()


BLANKET = [
    ("a colour has at most 200 characters", "ours",
     lambda n: reads(read_stash, colour_of(n)), 200, 201),
    ("grams and ounces of a ball agree within 3 %", "ours",
     lambda grams: reads(read_stash,
         f"name,colours,grams,ounces\nA,#fff,100,{grams / 28.349523125}\n".encode()),
     97.01, 96.99),
    ("a ball over 2 kg is doubted", "ours",
     lambda grams: "kg in one ball" in str(
         read_stash(f"name,colours,grams\nA,#fff,{grams}\n".encode()).notes),
     2001, 2000),
]  # fmt: skip

# --- photo ----------------------------------------------------------------------------


def leaning(warm, leaf):
    """A card whose light leans so far from blue to red, and so far to green, log2."""
    return 2.0 ** np.array([warm / 2, leaf, -warm / 2])


def card_off(amount):
    """A card so far to the green of what lamps and daylight make of grey."""
    return leaning(1.2, 0.15 * 1.2 + amount)[None]


def is_even(spread) -> bool:
    """Whether a card will do whose thirds differ by this share of its light."""
    thirds = np.repeat(0.4 * (1 + np.array([-0.5, 0, 0.5]) * spread), 40)
    pixels = linear_to_srgb255(np.broadcast_to(thirds[None, :, None], (90, 120, 3)))
    card = Region("", "rectangle", 60, 45, 120, 90)
    return reads(cards_seen, Photo(pixels, (120, 90)), [card], "grey card")


def is_seen(n_pixels) -> bool:
    """Whether a row of so many pixels is enough to be measured."""
    photo = Photo(np.full((1, n_pixels, 3), 90, np.uint8), (n_pixels, 1))
    region = Region("", "rectangle", n_pixels / 2, 0.5, n_pixels, 1)
    return reads(pixels_in, photo, region)


PHOTO = [
    ("a card is asked about over 0.45 off the line of lamps", "ours",
     lambda off: tinted(card_off(off), "grey card") != (), 0.451, 0.449),
    ("a card is refused over 0.9 off that line", "ours",
     lambda off: reads(tinted, card_off(off), "grey card"), 0.899, 0.901),
    ("two cards differ in colour over 0.2", "ours",
     lambda apart: tinted(np.array(
         [leaning(1.2, 0.18), leaning(1.2 + apart, 0.18)]), "grey card") != (),
     0.201, 0.199),
    ("exposure is told from one stop on", "ours",
     lambda stops: exposure(0.18 * 2**stops, 0.18, "card") != (), 1.001, 0.999),
    ("the parts of a card differ by at most 0.3 and a little", "ours",
     is_even, 0.319, 0.331),
    ("a region has at least 40 pixels", "ours", is_seen, 40, 39),
]  # fmt: skip

# --- needles --------------------------------------------------------------------------

BALL_G, METRE_G, ROW_M = 40, 0.25, 2.1  # of "ball 0"; a row has 100 stitches of 2.1 cm
AIR_G = BALL_G * 4 / 116  # wool at 14 % of moisture one day and at 18 % another
SCALE_G = (2 / 3) ** 0.5  # standard error of a difference: a gram either way, twice


def worth_moving(lower) -> bool:
    """Whether another order is taken whose largest step ahead is so much lower."""
    plan = a_plan()
    sizes = [20.0 - lower, *(1.0 for _ in plan.fabric_steps[1:])]
    pairs = zip(plan.fabric_steps, sizes, strict=True)
    anew = replace(plan, fabric_steps=tuple(replace(s, size=n) for s, n in pairs))
    kept = (replace(anew.fabric_steps[0], size=20.0), *anew.fabric_steps[1:])
    return is_worth_moving(replace(plan, fabric_steps=kept), anew, 0)


def told(*lines) -> str:
    """What is told of readings."""
    return " ".join(read(*lines)[1])


def agree(apart) -> bool:
    """Whether two weighings of one row agree."""
    return "do not agree" not in told(
        TWO[1], weighed("ball 0", 30, 20), weighed("ball 0", 30, 20 + apart)
    )


def agree_on_a_day(more_g) -> bool:
    """Whether two weighings of a day agree that are a row apart: half as much again as
    a row takes lies between them, and so much more."""
    left_g = 24 - 1.5 * ROW_M * METRE_G - more_g
    day = "2026-03-09"
    return "do not agree" not in told(
        weighed("ball 0", 30, 24, day), weighed("ball 0", 31, left_g, day)
    )


def alone(grams, scale_g=1.0):
    """What is told of a ball in two parts, weighed in row 20; grams as expected of the
    whole, their standard error, and the grams of the part wound off for later."""
    plan = a_mirrored_plan()
    yarns, setup = plan.stash.yarns, set_up(plan.choices.making)
    log = as_log([weighed("ball 0", 20, grams)], yarns)
    knitted = knitted_by_log(plan.fabric, plan.choices, log, yarns)
    first = prior(yarns, plan.choices, Limits(scale_g=scale_g))
    (one,) = weighings_of(log, knitted, yarns, setup)
    whole_g, error_g = expected(first, one.reading)
    (later,) = (
        s.part for s in knitted.strands if s.part.yarn == one.yarn and s.begun is None
    )
    said = " ".join(without_odd(log, knitted, yarns, setup, first)[1])
    return "on the scale" in said, whole_g, error_g, METRE_G * later.mm / 1000


def near_a_part(errors) -> bool:
    """Whether so many standard errors beside a part are that part."""
    return alone(alone(20)[3] + errors * SCALE_G)[0]


def nearer_to_a_part(times) -> bool:
    """Whether what is so many times nearer to a part than to the whole is the part."""
    _, whole_g, _, later_g = alone(20)
    return alone(later_g - (whole_g - later_g) / (times - 1))[0]


def far_from_the_whole(errors) -> bool:
    """Whether so many standard errors below the whole a part is thought of: where the
    whole is as doubtful as with a scale of 3 g."""
    _, whole_g, error_g, _ = alone(20, 3.0)
    return alone(whole_g - errors * error_g, 3.0)[0]


NEEDLES = [
    ("a log has at most 100 000 rows", "ours",
     lambda row: reads(read_quantity, str(row), ROWS), 100_000, 100_001),
    ("a re-plan is worth a step lower by 1", "ours", worth_moving, 1.001, 0.999),
    ("weighings of one row agree within 2 g", "ours", agree, 2.0, 2.01),
    ("weighings of one day agree within 2 g", "ours", agree_on_a_day, 1.99, 2.01),
    ("a ball may gain 2 g beside what the air gives", "ours",
     lambda grams: "is more than" not in told(
         TWO[1], weighed("ball 0", 30, BALL_G + AIR_G + grams)), 1.99, 2.01),
    ("a part lies within two standard errors of itself", "ours",
     near_a_part, 1.99, 2.01),
    ("or four times nearer to itself than to the whole", "ours",
     nearer_to_a_part, 4.01, 3.99),
    ("a part is thought of three standard errors below the whole", "ours",
     far_from_the_whole, 3.01, 2.99),
]  # fmt: skip

CONVENTIONS = [*COLOUR, *LAID, *YARN, *FILES, *BLANKET, *PHOTO, *NEEDLES]


@pytest.mark.parametrize(
    ("holds", "inside", "outside"),
    [row[2:] for row in CONVENTIONS],
    ids=[row[0] for row in CONVENTIONS],
)
def test_the_edge_is_where_it_is_said_to_be(holds, inside, outside):
    """Just inside it holds, just outside it does not."""
    assert holds(inside)
    assert not holds(outside)


def test_each_promise_stands_once_with_its_source():
    """No promise is made twice, and none without saying where it is written."""
    promises = [row[0] for row in CONVENTIONS]
    assert len(set(promises)) == len(promises)
    assert all(row[1] for row in CONVENTIONS)
