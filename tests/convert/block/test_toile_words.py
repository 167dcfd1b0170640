"""What a maker writes of a fitting is understood, or refused with what to write instead."""

import pytest

from calibration.ground.errors import InputError
from convert.block.toile.places import toile_places
from convert.block.toile.toile import places
from convert.block.toile.words import EXAMPLES, Correction, understand, written

KINDS = ("bodice front", "bodice back", "sleeve", "skirt front", "skirt back")


@pytest.mark.parametrize(
    ("text", "place", "amount", "on"),
    [
        ("side seam, bodice back: in 1 cm", "side seam", -10.0, ("bodice back",)),
        ("Take in the side seams 1cm at the hip", "side seam at the hip", -10.0, ("skirt front", "skirt back")),
        ("let out side seam at the waist by 1,5 cm", "side seam at the waist", 15.0, (*KINDS[:2], *KINDS[3:])),
        ("waist: out 2 cm", "waist", 20.0, (*KINDS[:2], *KINDS[3:])),
        ("waist, bodice: out 2 cm", "waist", 20.0, KINDS[:2]),
        ("above the waist: shorten 15 mm", "length above the waist", -15.0, KINDS[:2]),
        ("armhole depth: lengthen 1 cm", "length above the underarm", 10.0, KINDS[:2]),
        ("shoulder point: down 1/2 in", "shoulder slope", 12.7, KINDS[:2]),
        ("shoulder seam forward 0.7 cm", "forward shoulder", 7.0, ("bodice back", "bodice front")),
        ("sway back 1 cm", "sway back", 10.0, ("bodice back",)),
        ("skirt back: waist down 1 cm at centre back", "skirt waist at the centre", 10.0, ("skirt back",)),
        ("waist dart, back: out ½ in", "waist darts", -12.7, ("bodice back",)),
        ("skirt back, waist darts: in 0.5 cm", "waist darts", 5.0, ("skirt back",)),
        ("bust dart: shorten 1 cm", "side dart point", 10.0, ("bodice front",)),
        ("front neck: lower 1 cm", "neck depth", 10.0, ("bodice front",)),
        ("back neckline: raise 0.5 cm", "neck depth", -5.0, ("bodice back",)),
        ("sleeve head: raise 0.5 cm", "crown", 5.0, ("sleeve",)),
        ("bust point: out 1 cm", "bust point out", 10.0, ("bodice front",)),
        ("full bust: more 3 cm", "full bust", 30.0, ("bodice front",)),
        ("hem: up 3 cm", "skirt length", -30.0, ("skirt front", "skirt back")),
    ],
)
def test_the_words_of_the_trade(text: str, place: str, amount: float, on: tuple[str, ...]) -> None:
    told = understand(text, kinds=KINDS).correction
    assert (told.place, set(told.on)) == (place, set(on))
    assert told.amount_mm == pytest.approx(amount)


@pytest.mark.parametrize("text", EXAMPLES)
def test_our_own_examples(text: str) -> None:
    assert understand(text, kinds=KINDS).sentence.endswith(".")


def test_the_cards_unit_is_meant_where_none_is_written() -> None:
    assert understand("side seam: in 1", unit="cm").correction.amount_mm == pytest.approx(-10.0)
    assert understand("side seam: in 1/2", unit="in").correction.amount_mm == pytest.approx(-12.7)


@pytest.mark.parametrize("place", places())
@pytest.mark.parametrize("amount", [12.5, -7.0])
@pytest.mark.parametrize("unit", ["cm", "in"])
def test_what_is_chosen_is_written_in_words_that_mean_the_same(place: str, amount: float, unit: str) -> None:
    on = tuple(kind for kind in toile_places(200.0)[place].kinds)
    chosen = Correction(place=place, amount_mm=amount, on=on)
    kinds = (*KINDS, "trousers front", "trousers back")
    read = understand(written(chosen, unit=unit), unit=unit, kinds=kinds).correction  # type: ignore[arg-type]
    assert (read.place, read.on) == (place, on)
    assert read.amount_mm == pytest.approx(amount, abs=1e-3)


@pytest.mark.parametrize(
    ("text", "problem", "remedy"),
    [
        ("elbow: out 1 cm", "“elbow” is not known", "Write it like"),
        ("side seem: in 1 cm", "did you mean side seam?", "side seam"),
        ("side seam: 1 cm", "which way", "in"),
        ("side seam in", "no amount", "one amount"),
        ("side seam: in 1 cm, hip out 2 cm", "2 amounts", "several lines"),
        ("side seam: in and out 1 cm", "both in and out", "one way"),
        ("side seam: in -1 cm", "minus", "in words"),
        ("left side seam: in 1 cm", "one side", "half of the change"),
        ("side seam: in 40 cm", "40 cm is more", "up to 8 cm"),
        ("side seam: in 0.1 mm", "less than a fitting", "amount"),
        ("shoulder: in 1 cm", "no one meaning", "longer, shorter"),
        ("centre back: in 1 cm", "no change is known", "sway back"),
        ("dart: in 1 cm", "no change is known", "waist darts"),
        ("in 1 cm", "no place", "side seam"),
        ("", "no amount", "one amount"),
        ("collar: raise 1 cm", "“collar” is not known", "Write it like"),
    ],
)
def test_what_is_not_plain_is_refused_with_an_example(text: str, problem: str, remedy: str) -> None:
    with pytest.raises(InputError) as refused:
        understand(text, kinds=KINDS)
    assert problem in refused.value.problem
    assert remedy in refused.value.remedy


def test_a_piece_that_the_block_has_not() -> None:
    with pytest.raises(InputError, match="bodice front"):
        understand("skirt: longer 2 cm", kinds=("bodice front", "bodice back"))


def test_inches_and_inwards_are_told_apart() -> None:
    assert understand("side seam: out 1 in").correction.amount_mm == pytest.approx(25.4)
    assert understand("side seam: 1 in").correction.amount_mm == pytest.approx(-10.0)
    with pytest.raises(InputError, match="inches or inwards"):
        understand("side seam: 1 in", unit="in")
