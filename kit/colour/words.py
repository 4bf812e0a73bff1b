"""Plain words for a colour, to say what to look for in a shop. The rules are ours."""

from __future__ import annotations

from bisect import bisect_right
from functools import lru_cache
from math import hypot, radians

from kit.colour.families import FAMILIES, family_of, munsell_hue
from kit.colour.spaces import Lab, chroma_hue, hex_to_lab, oklab_hue

# Colour names people with yarn use, and where the xkcd colour survey found them (2010,
# CC0, as matplotlib carries it). Which names to use is our choice.
_SURVEY = """
red #e50000, scarlet #be0119, brick red #8f1402, burgundy #610023, wine #80013f,
cranberry #9e003a, maroon #650021, rose #cf6275, pink #ff81c0, rose pink #f7879a,
salmon pink #fe7b7c, coral #fc5a50, baby pink #ffb7ce, magenta #c20078, orchid #c875c4,
mauve #ae7181, blush #f29e8e, orange #f97306, peach #ffb07c, apricot #ffb16d,
burnt orange #c04e01, tangerine #ff9408, pumpkin #e17701, rust orange #c45508,
brown #653700, chocolate #3d1c02, chestnut #742802, caramel #af6f09, camel #c69f59,
coffee #a6814c, mahogany #4a0100, rust #a83c09, terracotta #ca6641, cinnamon #ac4f06,
mocha #9d7651, fawn #cfaf7b, taupe #b9a281, clay #b66a50, yellow #ffff14,
lemon yellow #fdff38, butter yellow #fffd74, mustard #ceb301, golden yellow #fec615,
straw #fcf679, wheat #fbdd7e, ochre #bf9005, tan #d1b26f, beige #e6daa6, khaki #aaa662,
amber #feb308, sand #e2ca76, olive #6e750e, olive green #677a04, army green #4b5d16,
drab #828344, green #15b01a, grass green #3f9b0b, leaf green #5ca904,
lime green #89fe05, forest green #06470c, emerald green #028f1e, mint green #8fff9f,
sage green #88b378, apple green #76cd26, pea green #8eab12, pine green #0a481e,
fern green #548d44, moss green #658b38, jade #1fa774, seafoam #80f9ad, spruce #0a5f38,
pistachio #c0fa8b, avocado green #87a922, evergreen #05472a, teal #029386,
turquoise #06c2ac, aqua #13eac9, duck egg blue #c3fbf4, teal blue #01889f,
turquoise blue #06b1c4, aqua blue #02d8e9, robin's egg blue #98eff9, sea #3c9992,
blue #0343df, navy blue #001146, sky blue #75bbfd, cornflower blue #5170d7,
denim blue #3b5b92, royal blue #0504aa, slate blue #5b7c99, periwinkle #8e82fe,
baby blue #a2cffe, cobalt #1e488f, powder blue #b1d1fc, peacock blue #016795,
petrol #005f6a, indigo #380282, cerulean #0485d1, purple #7e1e9c, plum #580f41,
lavender #c79fef, lilac #cea2fd, violet #9a0eea, aubergine #3d0734, grape #6c3461,
heather #a484ac, amethyst #9b5fc0, wisteria #a87dc2
"""

# Ours: L* from which each word holds.
LIGHTNESS = (
    (85, "very light"),
    (70, "light"),
    (55, "middling light"),
    (38, "middling dark"),
    (22, "dark"),
    (float("-inf"), "very dark"),
)


@lru_cache(maxsize=10_000)
def words_for(lab: Lab) -> str:
    """A colour in plain words, to say what to look for in a shop.

    >>> words_for((40.0, 22.0, -8.0)), words_for((78.0, 1.0, 4.5))
    ('dusty grape, middling dark', 'light warm grey')
    """
    name = name_for(lab)
    if family_of(lab) == "neutrals":  # its name says how light it is
        return name
    return f"{name}, {lightness_word(lab[0])}"


def name_for(lab: Lab) -> str:
    """A colour's plain name with its tone, without how light it is.

    >>> name_for((40.0, 22.0, -8.0))
    'dusty grape'
    """
    if family_of(lab) == "neutrals":
        return _neutral_words(lab)
    return f"{_tone(lab)} {_nearest_name(lab)}".strip()


def lightness_word(value: float) -> str:
    """How light a colour of this L* is called, from very light to very dark."""
    return next(word for least, word in LIGHTNESS if value >= least)


def _tone(lab: Lab) -> str:
    """Ours: C* against what a colour of that lightness and hue usually has."""
    value, usual = lab[0], 20 + 0.6 * lab[0]
    if munsell_hue(lab) in ("BG", "B"):  # vivid ISCC-NBS centroids stop at C* 35
        usual *= 0.65
    strength = chroma_hue(lab)[0] / usual
    if strength < 0.35:
        return "pale" if value >= 70 else "greyed"
    if strength < 0.65:
        return "soft" if value >= 70 else "dusty"
    if strength < 1.0:
        return ""
    return "deep" if value < 38 else "clear" if strength < 1.4 else "vivid"


def _nearest_name(lab: Lab) -> str:
    """The nearest name of the same family; chroma counts little, the tone tells it."""
    L, (chroma, hue) = lab[0], chroma_hue(lab)

    def distance(named: tuple[str, Lab]) -> float:
        there, there_hue = chroma_hue(named[1])
        turn = radians(abs((there_hue - hue + 180) % 360 - 180))
        across = turn * max(30.0, (chroma * there) ** 0.5)
        return hypot(L - named[1][0], across, 0.35 * (chroma - there))

    return min(_names_of(family_of(lab)), key=distance)[0]


@lru_cache(maxsize=len(FAMILIES))
def _names_of(family: str) -> tuple[tuple[str, Lab], ...]:
    pairs = (" ".join(e.split()).rsplit(" ", 1) for e in _SURVEY.split(","))
    labs = ((name, hex_to_lab(text)) for name, text in pairs)
    return tuple((name, lab) for name, lab in labs if family_of(lab) == family)


def _neutral_words(lab: Lab) -> str:
    """Whites, greys and near-blacks with their tint; ours."""
    L, (chroma, _), tint = lab[0], chroma_hue(lab), _tint(lab)
    if L >= 90:
        return "cream" if tint == "warm" and chroma >= 7 else f"{tint} white".strip()
    if tint == "warm" and chroma >= 8 and L >= 38:
        return "oatmeal" if L >= 75 else "stone" if L >= 60 else "taupe"
    if L < 18:
        return f"{tint} black".strip()
    if L < 32:
        return f"{tint} charcoal grey".strip()
    depth = "pale" if L >= 80 else "light" if L >= 65 else "dark" if L < 45 else "mid"
    return " ".join(word for word in (depth, tint, "grey") if word)


def _tint(lab: Lab) -> str:
    """Ours: which way a neutral leans; below C* 3 nobody would say."""
    if chroma_hue(lab)[0] < 3:
        return ""
    ends = (20, 115, 180, 290, 360)
    words = ("pinkish", "warm", "greenish", "cool", "mauve")
    return words[bisect_right(ends, oklab_hue(lab))]
