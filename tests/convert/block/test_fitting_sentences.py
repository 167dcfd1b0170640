"""A fitter's own sentences: done, asked back, or answered with likely causes, nine in ten as they ought to be."""

from collections.abc import Iterable

import pytest

from calibration.ground.errors import InputError
from convert.block.toile.places import toile_places
from convert.block.toile.signs import SIGNS_SEEN
from convert.block.toile.words import Asked, Likely, Told, answer, understand
from tests.convert.block.fitting_sentences import SECOND, SENTENCES, THIRD, Said

KINDS = ("bodice front", "bodice back", "sleeve", "skirt front", "skirt back")
SHARE = 0.9  # of sentences understood; asked of the program before it was built


def as_it_ought(said: Said) -> bool:
    try:
        found = answer(said.text, kinds=KINDS)
    except InputError:
        return False
    match found:
        case Told():
            exact = said.amount_mm is not None and abs(found.correction.amount_mm - said.amount_mm) < 1e-6
            return said.becomes == "done" and found.correction.place in said.places and exact
        case Asked():
            return said.becomes == "asked" and found.place in said.places
        case Likely():
            causes = {one.asked.place for one in found.choices if one.asked}
            return said.becomes == "likely" and 2 <= len(found.choices) <= 3 and bool(causes & set(said.places))


def understood(sentences: Iterable[Said]) -> tuple[int, list[str]]:
    told = list(sentences)
    missed = [said.text for said in told if not as_it_ought(said)]
    return len(told) - len(missed), missed


@pytest.mark.parametrize("becomes", ["done", "asked", "likely"])
def test_nine_in_ten_of_a_fitters_sentences(becomes: str) -> None:
    mine = [said for said in (*SENTENCES, *SECOND, *THIRD) if said.becomes == becomes]
    count, missed = understood(mine)
    assert count >= SHARE * len(mine), missed


def test_every_cause_can_be_chosen_and_then_needs_an_amount_only() -> None:
    for sign in SIGNS_SEEN:
        assert 2 <= len(sign.causes) <= 3
        for cause in sign.causes:
            if not cause.place:
                continue
            place = toile_places(200.0)[cause.place]
            assert cause.way in place.more + place.less, cause
            assert not cause.on or set(cause.on) <= set(place.kinds), cause


@pytest.mark.parametrize("said", [one for one in (*SENTENCES, *SECOND, *THIRD) if one.becomes != "done"])
def test_what_is_offered_is_understood_once_the_amount_stands_in_it(said: Said) -> None:
    found = answer(said.text, kinds=KINDS)
    asked = [one.asked for one in found.choices if one.asked] if isinstance(found, Likely) else [found]
    for one in asked:
        assert isinstance(one, Asked)
        for line in one.lines:
            told = understand(line.replace("…", "1"), kinds=KINDS)
            assert (told.correction.place, set(told.correction.on)) == (one.place, set(one.on)), line


def test_a_sign_changes_nothing_even_with_an_amount() -> None:
    assert isinstance(answer("drag lines from bust to side, 2 cm", kinds=KINDS), Likely)
    with pytest.raises(InputError, match="several causes"):
        understand("drag lines from bust to side, 2 cm", kinds=KINDS)


def test_a_word_that_nobody_knows_is_named_and_stops_a_change() -> None:
    found = answer("the neckline gapes dreadfully", kinds=KINDS)
    assert isinstance(found, Likely)
    assert found.passed_over == ("“dreadfully” is not known here.",)
    with pytest.raises(InputError, match="“not” is not known"):
        answer("do not take the side seams in 1 cm", kinds=KINDS)
    with pytest.raises(InputError, match="did you mean shoulder"):
        answer("sholder: longer 1 cm", kinds=KINDS)


@pytest.mark.parametrize("text", ["side seam pinned out 1 cm", "waist: 2 cm taken out"])
def test_what_is_pinned_out_goes_in(text: str) -> None:
    assert understand(text, kinds=KINDS).correction.amount_mm < 0
