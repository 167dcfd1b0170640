"""Size charts, cell by cell against the published figures; each table's source stands beside it.

Tables of status "from memory" are only checked in the facts that were read somewhere.
"""

import itertools
from fractions import Fraction
from pathlib import Path

import pytest

from calibration.ground.errors import InputError
from convert.body.charts import body_at_bust, chart, charts, nearest_row, row
from convert.body.cup import cup, size_by_high_bust

MM = 25.4


def inches(text: str) -> float:
    return float(sum(Fraction(part) for part in text.split())) * MM


# http://dianassewinglessons.blogspot.com/p/choosing-what-size-pattern-to-buy.html: size, high bust, bust, waist, hip,
# back waist in inches; then the same in whole millimetres as converted in the table of sources.
MISSES = """
6  | 28 1/2 | 30 1/2 | 23     | 32 1/2 | 15 1/2 | 724  | 775  | 584 | 826  | 394
8  | 29 1/2 | 31 1/2 | 24     | 33 1/2 | 15 3/4 | 749  | 800  | 610 | 851  | 400
10 | 30 1/2 | 32 1/2 | 25     | 34 1/2 | 16     | 775  | 826  | 635 | 876  | 406
12 | 32     | 34     | 26 1/2 | 36     | 16 1/4 | 813  | 864  | 673 | 914  | 413
14 | 34     | 36     | 28     | 38     | 16 1/2 | 864  | 914  | 711 | 965  | 419
16 | 36     | 38     | 30     | 40     | 16 3/4 | 914  | 965  | 762 | 1016 | 425
18 | 38     | 40     | 32     | 42     | 17     | 965  | 1016 | 813 | 1067 | 432
20 | 40     | 42     | 34     | 44     | 17 1/4 | 1016 | 1067 | 864 | 1118 | 438
22 | 42     | 44     | 37     | 46     | 17 1/2 | 1067 | 1118 | 940 | 1168 | 444
24 | 44     | 46     | 39     | 48     | 17 3/4 | 1118 | 1168 | 991 | 1219 | 451
"""
COLUMNS = ("high bust", "bust", "waist", "hip", "back waist length")


def test_misses_since_1968_cell_by_cell() -> None:
    found = chart("misses since 1968")
    lines = [[cell.strip() for cell in line.split("|")] for line in MISSES.strip().splitlines()]
    assert found.sizes == tuple(line[0] for line in lines)
    for size, *cells in lines:
        body = row(found, size)
        for name, inch, mm in zip(COLUMNS, cells[:5], cells[5:], strict=True):
            assert body[name] == pytest.approx(inches(inch), abs=1e-6)
            assert body[name] == pytest.approx(float(mm), abs=0.55)  # whole mm in the table
    assert found.status == "seen"


def test_misses_since_1968_is_regular() -> None:
    """Regularities stated beside the same table: cup 2 in, hip 2 in over bust, back waist 1/4 in a size."""
    found = chart("misses since 1968")
    drops = []
    for size in found.sizes:
        body = row(found, size)
        assert body["bust"] - body["high bust"] == pytest.approx(50.8)
        assert body["hip"] - body["bust"] == pytest.approx(50.8)
        drops.append((body["bust"] - body["waist"]) / MM)
    assert drops == pytest.approx([7.5] * 4 + [8] * 4 + [7] * 2)
    backs = found.columns["back waist length"]
    assert [b - a for a, b in itertools.pairwise(backs)] == pytest.approx([MM / 4] * 9)


# name, sizes, then bust, waist, hip, back waist as printed
OTHERS = {
    # http://sewingscholar.blogspot.com/2011/02
    "miss petite since 1968": (
        "6 8 10 12 14 16",
        ("30 1/2, 31 1/2, 32 1/2, 34, 36, 38", "23 1/2, 24 1/2, 25 1/2, 27, 28 1/2, 30 1/2"),
        ("32 1/2, 33 1/2, 34 1/2, 36, 38, 40", "14 1/2, 14 3/4, 15, 15 1/4, 15 1/2, 15 3/4"),
    ),
    # the same page
    "women's since 1968": (
        "38 40 42 44 46 48 50",
        ("42, 44, 46, 48, 50, 52, 54", "35, 37, 39, 41 1/2, 44, 46 1/2, 49"),
        ("44, 46, 48, 50, 52, 54, 56", "17 1/4, 17 3/8, 17 1/2, 17 5/8, 17 3/4, 17 7/8, 18"),
    ),
    # http://www.lonelyhepkat.com/2016/05/pattern-sizing.html
    "misses 1945-56": (
        "10 12 14 16 18 20",
        ("28, 30, 32, 34, 36, 38", "24, 25, 26 1/2, 28, 30, 32"),
        ("31, 33, 35, 37, 39, 41",),
    ),
}


@pytest.mark.parametrize("name", OTHERS)
def test_other_pattern_charts_cell_by_cell(name: str) -> None:
    sizes, upper, lower = OTHERS[name]
    found = chart(name)
    assert found.sizes == tuple(sizes.split())
    for column, cells in zip(("bust", "waist", "hip", "back waist length"), (*upper, *lower), strict=False):
        assert found.columns[column] == pytest.approx([inches(cell) for cell in cells.split(",")])
    assert len(found.columns) == len(upper) + len(lower)


def test_1945_arm_length_is_kept_apart() -> None:
    """http://www.lonelyhepkat.com/2016/05/pattern-sizing.html; 413 to 457 mm is no outer arm of a grown body."""
    found = chart("1945-56")
    assert found.other["arm length as printed"] == pytest.approx(
        [inches(cell) for cell in ["16 1/4", "16 1/2", "17", "17 1/2", "18", "18"]]
    )
    assert "arm length" not in found.columns


# http://www.astm.org/Standards/D5585.htm, head of table 1, in mm as converted in the table of sources
ASTM = {
    "neck": "337 343 349 356 362 371 378 384 394 400 406 416",
    "bust": "791 806 838 867 895 921 946 984 1026 1070 1118 1168",
    "under bust": "654 673 692 711 737 762 787 826 864 908 956 1006",
    "mid-neck girth": "314 321 327 333 340 346 352 362 371 381 394 406",
    "shoulder girth": "943 959 975 991 1010 1029 1048 1067 1092 1124 1156 1191",
    "upper-chest girth": "806 819 845 867 889 911 933 965 997 1032 1073 1114",
}
ASTM_WAIST = {
    "curvy": "606 625 645 664 686 711 737 781 826 876 933 991",
    "straight": "645 664 683 702 724 749 775 819 864 914 972 1029",
}


@pytest.mark.parametrize("figure", ASTM_WAIST)
def test_astm_d5585_11_cell_by_cell(figure: str) -> None:
    found = chart(f"astm d5585-11 {figure}")
    assert found.sizes == ("00", "0", "2", "4", "6", "8", "10", "12", "14", "16", "18", "20")
    both = {**found.columns, **found.other}
    for name, cells in {**ASTM, "waist": ASTM_WAIST[figure]}.items():
        assert both[name] == pytest.approx([float(cell) for cell in cells.split()], abs=0.55)
    assert "high bust" not in found.columns  # the upper-chest girth is another thing


def test_german_rule() -> None:
    """size = bust / 2 - 6 for a height of 168 cm: bust 88 is size 38 (http://www.style-engineers.com/2012/08/...)."""
    found = chart("german")
    assert row(found, "38") == {"bust": 880.0, "height": 1680.0}
    for size, bust in zip(found.sizes, found.columns["bust"], strict=True):
        assert float(size) == bust / 10 / 2 - 6


def test_the_same_number_meant_another_bust_in_each_era() -> None:
    """Size 14: bust 32 in (1952), 34 in (1963), 36 in (1970):
    https://blacktulipsewing.blogspot.com/2020/08/all-change.html
    Hip 3 in over the bust before 1956 and 2 in after: midvalevintagepost.blogspot.com, 2012."""
    eras = [row(chart(name), 14) for name in ("misses 1945-56", "misses 1956-67", "misses since 1968")]
    assert [body["bust"] for body in eras] == pytest.approx([32 * MM, 34 * MM, 36 * MM])
    assert [body["hip"] - body["bust"] for body in eras] == pytest.approx([3 * MM, 2 * MM, 2 * MM])
    assert row(chart("1945-56"), 16)["waist"] == pytest.approx(28 * MM)  # a book of 1951, same blog: 34 / 28 / 37


def test_size_18_before_the_late_1950s_and_today() -> None:
    """36/30/39 then, 40/32/42 today: http://www.threadsmagazine.com/item/4669/working-with-vintage-patterns/page/2"""
    for name, body in (("1945-56", (36, 30, 39)), ("misses", (40, 32, 42))):
        found = row(chart(name), 18)
        assert [found[level] / MM for level in ("bust", "waist", "hip")] == pytest.approx(body)


def test_every_chart_says_whence_and_how_sure() -> None:
    for one in charts().values():
        assert one.source
        assert one.status in ("seen", "computed", "from memory")
    assert chart("1956-67").status == "from memory"


def test_unknown_charts_and_sizes_are_said() -> None:
    with pytest.raises(InputError, match="did you mean “misses since 1968”"):
        chart("mises 1968")
    with pytest.raises(InputError, match=r"no size “13”\. Its sizes are 6, 8"):
        row(chart("misses"), 13)


@pytest.mark.parametrize(
    ("text", "problem"),
    [
        ('name="x"\nsizes=["1"]\n[columns]\nbust=[84, 88]', "bust has 2 values for 1 sizes"),
        ('name="x"\n[columns]\nbust=[84]', "“sizes” is missing"),
        ('name="x"\nsizes=["1"]\n[columns]\nbsut=[84]', "did you mean bust?"),
        ('name="x"\nsizes=["1"]\n[columns]\nbust=[-84]', "not above zero"),
        ('name="x"\nunit="ell"\nsizes=["1"]\n[columns]\nbust=[84]', "unit “ell”"),
        ('name="x"\nsizes=["1","1"]\n[columns]\nbust=[84,85]', "one is there twice"),
    ],
)
def test_ones_own_chart_is_checked(tmp_path: Path, text: str, problem: str) -> None:
    (tmp_path / "own.toml").write_text(text, encoding="utf-8")
    with pytest.raises(InputError, match=problem.replace("?", r"\?")):
        chart("own.toml", folder=tmp_path)


def test_between_and_beyond_rows() -> None:
    found = chart("misses")
    middle = body_at_bust(found, 37 * MM)
    assert middle["waist"] == pytest.approx(29 * MM)
    assert middle["high bust"] == pytest.approx(35 * MM)
    assert body_at_bust(found, 50 * MM)["waist"] == pytest.approx(43 * MM)  # 2 in a size, on from 46 / 39
    assert body_at_bust(found, 36 * MM)["hip"] == pytest.approx(38 * MM)


def test_nearest_row() -> None:
    found = nearest_row(chart("misses"), {"bust": 915.0, "waist": 715.0, "hip": 960.0})
    assert (found.size, found.beyond) == ("14", False)
    assert found.rest_mm["waist"] == pytest.approx(715 - 711.2)
    assert "91.5 cm" in found.sentence
    assert nearest_row(chart("misses"), {"bust": 1500.0}).beyond
    assert nearest_row(chart("misses"), {"bust": 35 * MM}).size == "12"  # half way: the smaller
    with pytest.raises(InputError, match="none of the measurements"):
        nearest_row(chart("german"), {"waist": 700.0})


def test_every_row_is_nearest_to_itself() -> None:
    for one in charts().values():
        for size in one.sizes:
            assert nearest_row(one, row(one, size)).size == size


def test_the_size_is_chosen_by_high_bust() -> None:
    """High bust 34 and full bust 38 in: size 14 (chest 34, bust 36), so the front lacks 2 in, 1 in each half."""
    found = size_by_high_bust(chart("misses"), {"high bust": 34 * MM, "bust": 38 * MM}, unit="in")
    assert found.size == "14"
    assert found.sentence.endswith("Its bust is 2 in too small for you: 1 in is added on each half front.")
    assert size_by_high_bust(chart("misses"), {"bust": 38 * MM}).size == "16"
    assert "fits too" in size_by_high_bust(chart("misses"), {"high bust": 864.0, "bust": 915.0}).sentence
    # a chart without a high bust is drafted 2 in below its bust
    assert size_by_high_bust(chart("1945-56"), {"high bust": 32 * MM}).size == "16"


def test_cup_letters() -> None:
    """1 in A, 2 in B, 3 in C, 4 in D, 5 in DD, 6 in DDD: http://curvysewingcollective.com/a-guide-to-pattern-cup-sizes-..."""
    assert [cup(900 + step * MM, 900) for step in range(8)] == [
        "smaller than A", "A", "B", "C", "D", "DD", "DDD", "larger than DDD",
    ]  # fmt: skip
