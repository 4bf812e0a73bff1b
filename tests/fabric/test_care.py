"""What to mind in washing, named."""

from dataclasses import replace

import pytest

from kit.fabric.care import care_words, cautions, is_feltable, is_superwash, mixed_care
from kit.fabric.stripes import Stripe
from tests.helpers.yarns import yarn


def labelled(name, fibre="", care=""):
    one = yarn(name, 60)
    return replace(one, label=replace(one.label, fibre=fibre, care=care))


SOCK = labelled("Sock", "superwash wool 75 %, nylon 25 %", "superwash")
FELT = labelled("Peat", "feltable wool", "hand wash")
MOHAIR = labelled("Haze", "mohair 70 %, silk 30 %", "hand wash")
COTTON = labelled("Sail", "cotton", "machine wash")
BLANK = labelled("Gift")
BY_HAND = labelled("Shawl", "merino wool", "do not machine wash")
BARE = labelled("Raw", "non-superwash wool")


def stripe(first_row, last_row, *strands):
    return Stripe(10 * (first_row - 1), 10 * last_row, 10, strands, (), 5.0)


@pytest.mark.parametrize(
    ("one", "felts"),
    [
        (SOCK, False),
        (FELT, True),
        (MOHAIR, True),
        (COTTON, False),
        (BLANK, False),
        (BY_HAND, True),
        (BARE, True),
    ],
)
def test_what_felts_by_its_label(one, felts):
    """Untreated wool and its like; a label without fibre says nothing, and what a
    label says not to be the case is not."""
    assert is_feltable(one) is felts
    assert is_superwash(one) is (one is SOCK)


def test_rows_and_yarns_are_named():
    """Stripes that follow each other become one span of rows."""
    stripes = [
        stripe(1, 8, SOCK, COTTON),
        stripe(9, 12, SOCK, FELT),
        stripe(13, 20, FELT, SOCK),
        stripe(21, 30, FELT, COTTON),
        stripe(31, 40, SOCK, MOHAIR),
    ]
    assert mixed_care(stripes) == (stripes[1], stripes[2], stripes[4])
    assert care_words(stripes) == (
        "Superwash and feltable wool are held together and can pucker in the wash in "
        'rows 9 to 20, 31 to 40. Feltable there: "Peat", "Haze". Wash a swatch of such '
        "a stripe first.",
    )


def test_a_carried_strand_counts():
    """Carried along is held together as well."""
    one = replace(stripe(1, 8, SOCK, COTTON), carried=(FELT,))
    assert mixed_care([one]) == (one,)


def test_nothing_to_say_is_not_said():
    """No sentence where no stripe holds both."""
    assert care_words([stripe(1, 8, SOCK), stripe(9, 12, FELT)]) == ()


def test_cautions():
    """Three calm lines; washing says more only where these yarns give a reason."""
    pale = yarn("pale", (85, 0, -10))
    sleep, washing, loose = cautions([pale])
    assert sleep == (
        "A blanket is not for a baby's sleep space unless the local health service "
        "says so; follow its advice."
    )
    assert washing == "Wash by the gentlest label among the yarns used."
    assert "choking risk" in loose
    wool = replace(pale, label=replace(pale.label, fibre="wool"))
    superwash = replace(wool, label=replace(wool.label, care="Superwash"))
    assert "pucker" in cautions([wool, superwash])[1]
    assert "pucker" not in cautions([wool])[1]
    assert "pucker" not in cautions([superwash])[1]  # none beside it that felts
    for lab in ((30, 0, 0), (50, 50, 20)):
        assert "bleeding" in cautions([pale, yarn("x", lab)])[1]
        left_out = yarn("x", lab, role="leave out")
        assert "bleeding" not in cautions([pale, left_out])[1]
