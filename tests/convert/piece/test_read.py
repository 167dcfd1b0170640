"""Invented pieces of every kind, lying any way round, read back to the seam line they were drafted with."""

import json
from collections.abc import Iterator
from dataclasses import replace

import numpy as np
import pytest
from scipy.spatial import cKDTree

from calibration.ground.errors import InputError
from convert.piece.allowance.offset import add_allowance
from convert.piece.names.kinds import KINDS
from convert.piece.names.naming import name_piece
from convert.piece.names.told import DartTold, EdgeTold, Told
from convert.piece.piece import Piece, PieceKind
from convert.piece.read import piece_from
from convert.piece.record import from_record, to_record
from tests.convert.piece.shapes import Drawn, draw

KIND_LIST = [kind.name for kind in KINDS.values() if kind.part is None]  # whole pieces; parts have tests of their own


def told_of(drawn: Drawn) -> Told:
    """Fold and allowances as an instruction sheet states them."""
    return Told(
        fold=next((edge.name for edge in drawn.piece.edges if edge.on_fold), "none"),
        allowances={edge.name: edge.allowance.mm for edge in drawn.piece.edges if not edge.on_fold},
    )


def apart(drawn: Drawn, piece: Piece) -> float:
    """RMS distance both ways between the seam line read and the one drafted."""
    assert piece.placement is not None
    truth = piece.placement.to_piece(drawn.laid(np.vstack([edge.points for edge in drawn.piece.edges])))
    there, back = cKDTree(truth).query(piece.seam_line)[0], cKDTree(piece.seam_line).query(truth)[0]
    return float(np.sqrt(np.mean(np.concatenate([there, back]) ** 2)))


def cases() -> Iterator[tuple[PieceKind, int, dict[str, object]]]:
    """Each kind with and without darts, print, given corners; seen from either side."""
    for kind in KIND_LIST:
        for seed in range(4):
            yield (
                kind,
                seed,
                {
                    "darts": seed != 1,
                    "centre": "seam" if seed % 2 else "fold",
                    "flipped": seed >= 2,
                    "corners": seed % 2 == 0,
                    "printed": seed != 3,
                },
            )


@pytest.mark.parametrize(("kind", "seed", "how"), list(cases()))
def test_told_allowances_come_off_whichever_way_the_piece_lies(
    kind: PieceKind, seed: int, how: dict[str, object]
) -> None:
    drawn = draw(kind, np.random.default_rng([seed, KIND_LIST.index(kind)]), **how)  # type: ignore[arg-type]
    piece = piece_from(drawn.tracing, kind, told_of(drawn))
    assert {edge.name for edge in piece.edges} == set(KINDS[kind].edges)
    assert apart(drawn, piece) < 0.25  # drawn with 0.1 mm of noise, compared through points 0.5 mm apart
    assert len(piece.darts) == len(drawn.piece.darts)
    for one, after in zip(piece.edges, piece.edges[1:] + piece.edges[:1], strict=True):
        assert np.array_equal(one.points[-1], after.points[0])
        assert np.hypot(*np.diff(one.points, axis=0).T).max() <= 0.5 + 1e-6
    for dart in piece.darts:
        legs = np.hypot(*(dart.legs - dart.apexes[0]).T)
        assert abs(legs[0] - legs[1]) < 0.05
        assert dart.on is not None
        on = piece.edge(dart.on).points
        assert np.hypot(*(on[:, None] - dart.legs).T).min(1).max() < 1e-6


@pytest.mark.parametrize("kind", KIND_LIST)
def test_allowance_put_back_gives_the_cut_line_again(kind: PieceKind) -> None:
    drawn = draw(kind, np.random.default_rng([11, KIND_LIST.index(kind)]))
    piece = piece_from(drawn.tracing, kind, told_of(drawn))
    again = add_allowance(piece)
    there, back = cKDTree(again).query(piece.cut_line)[0], cKDTree(piece.cut_line).query(again)[0]
    # points lie 0.5 mm apart, so a perfect ring is up to 0.25 mm from the nearest point: 0.15 mm RMS
    assert np.sqrt(np.mean(np.concatenate([there, back]) ** 2)) < 0.2


@pytest.mark.parametrize("kind", KIND_LIST)
def test_a_printed_stitching_line_gives_each_edge_its_allowance(kind: PieceKind) -> None:
    drawn = draw(kind, np.random.default_rng([7, KIND_LIST.index(kind)]), stitching=True)
    piece = piece_from(drawn.tracing, kind)
    for edge in drawn.piece.edges:
        found = piece.edge(edge.name).allowance
        assert found.mm == pytest.approx(edge.allowance.mm, abs=0.4)
        assert abs(found.mm - edge.allowance.mm) <= max(found.uncertainty_mm, 1e-9)
        assert found.evidence == ("deduced" if edge.on_fold else "measured")


def test_nothing_known_is_assumed_and_said_so() -> None:
    drawn = draw("bodice front", np.random.default_rng(2), printed=False)
    piece = piece_from(drawn.tracing, "bodice front")
    assert {edge.allowance.evidence for edge in piece.edges} == {"assumed"}
    assert all(edge.allowance.why and edge.allowance.uncertainty_mm > 2 for edge in piece.edges)
    assert {"fold-unknown", "grain-deduced"} <= {note.code for note in piece.notes}


def test_printed_legs_that_end_on_the_seam_line_give_the_allowance_of_their_edge() -> None:
    drawn = draw("bodice back", np.random.default_rng(4), printed=True)
    piece = piece_from(drawn.tracing, "bodice back")
    for name in ("waist", "shoulder"):
        found = piece.edge(name).allowance
        assert found.evidence == "deduced"
        assert found.mm == pytest.approx(drawn.piece.edge(name).allowance.mm, abs=0.6)


def test_what_was_told_wins() -> None:
    drawn = draw("skirt front", np.random.default_rng(6), stitching=True)
    piece = piece_from(drawn.tracing, "skirt front", Told(allowances={"waist": 7.0}, no_darts=True))
    assert piece.edge("waist").allowance.mm == 7.0
    assert piece.edge("waist").allowance.evidence == "told"
    assert not piece.darts
    hem = drawn.piece.edge("hem").points
    told = Told(edges=(EdgeTold(name="waist", points=drawn.laid(hem[len(hem) // 2][None])),))
    named = name_piece(drawn.tracing, "skirt front", told)
    waist = named.edge("waist").points
    assert cKDTree(waist).query(named.placement.to_piece(drawn.laid(hem)))[0].mean() < 60


def test_a_told_dart_is_taken_as_told() -> None:
    drawn = draw("bodice front", np.random.default_rng(8), printed=False)
    true = next(dart for dart in drawn.piece.darts if dart.on == "waist")
    apex = true.apexes[0] + [3.0, 6.0]
    told = Told(darts=(DartTold(legs=drawn.laid(true.legs), apexes=drawn.laid(apex[None])),), allowance_mm=15.0)
    piece = piece_from(drawn.tracing, "bodice front", told)
    found = next(dart for dart in piece.darts if dart.on == "waist")
    assert found.evidence == "told"
    assert piece.placement is not None
    assert found.apexes[0] == pytest.approx(piece.placement.to_piece(drawn.laid(apex[None]))[0], abs=1e-6)


def test_beside_printed_darts_a_peak_alone_is_none() -> None:
    """Where one dart's legs are printed, all are: a bump of the cut line elsewhere is a notch or a wavy edge."""
    drawn = draw("bodice front", np.random.default_rng(5), noise_mm=0.0)
    seam = drawn.laid(drawn.piece.edge("shoulder").points)
    outline = drawn.tracing.outline.copy()
    at = outline[np.argmin(np.hypot(*(outline - seam[len(seam) // 2]).T))]
    out = at - outline.mean(0)
    bump = np.clip(1.0 - np.hypot(*(outline - at).T) / 9.0, 0, None)[:, None] * 1.6 * out / np.hypot(*out)
    for lines, darts in ((drawn.tracing.lines, len(drawn.piece.darts)), ((), None)):
        piece = piece_from(replace(drawn.tracing, outline=outline + bump, lines=lines), "bodice front", told_of(drawn))
        on = [dart.on for dart in piece.darts]
        assert len(on) == (darts or len(on))
        assert ("shoulder" in on) == (darts is None)


def test_face_down_is_turned_over_only_when_told() -> None:
    drawn = draw("bodice back", np.random.default_rng(9), flipped=True)
    as_seen = piece_from(drawn.tracing, "bodice back")
    assert any(note.code == "turned-over" for note in as_seen.notes)
    assert as_seen.edge("side seam").points[:, 0].mean() < as_seen.edge("centre back").points[:, 0].mean()
    turned = piece_from(drawn.tracing, "bodice back", Told(face_down=True))
    assert turned.edge("side seam").points[:, 0].mean() > 100
    assert [edge.name for edge in turned.edges] == list(KINDS["bodice back"].edges)
    assert apart(drawn, piece_from(drawn.tracing, "bodice back", Told(**{**_told(drawn), "face_down": True}))) < 0.25


def _told(drawn: Drawn) -> dict[str, object]:
    told = told_of(drawn)
    return {"fold": told.fold, "allowances": dict(told.allowances)}


def test_a_wrap_is_cut_back_to_the_told_centre_line() -> None:
    drawn = draw("bodice front", np.random.default_rng(10), centre="wrap")
    centre = drawn.piece.edge("centre front").points
    widths = {edge.name: edge.allowance.mm for edge in drawn.piece.edges if edge.name != "centre front"}
    piece = piece_from(drawn.tracing, "bodice front", Told(allowances=widths, centre_line=drawn.laid(centre[[0, -1]])))
    assert apart(drawn, piece) < 0.25
    assert piece.edge("centre front").allowance.mm == pytest.approx(
        drawn.piece.edge("centre front").allowance.mm, abs=0.3
    )


def test_too_few_corners_says_what_to_do() -> None:
    t = np.linspace(0, 2 * np.pi, 1200, endpoint=False)
    drawn = draw("bodice front", np.random.default_rng(1))
    from dataclasses import replace

    round_one = replace(
        drawn.tracing,
        outline=np.column_stack([200 * np.cos(t), 150 * np.sin(t)]),
        corners=np.array([], np.int64),
        inferred=np.zeros(1200, bool),
        lines=(),
        marks=(),
    )
    with pytest.raises(InputError) as said:
        name_piece(round_one, "bodice front")
    assert "6 corners" in said.value.problem
    assert "kind of piece" in said.value.remedy


def test_an_incomplete_piece_is_carried_on_as_incomplete() -> None:
    from dataclasses import replace

    drawn = draw("skirt back", np.random.default_rng(12))
    piece = piece_from(replace(drawn.tracing, complete=False), "skirt back", told_of(drawn))
    assert piece.complete is False
    assert to_record(piece)["complete"] is False


@pytest.mark.parametrize("kind", KIND_LIST)
def test_a_written_piece_reads_back_the_same(kind: PieceKind) -> None:
    drawn = draw(kind, np.random.default_rng([13, KIND_LIST.index(kind)]))
    piece = piece_from(drawn.tracing, kind, told_of(drawn), uncertainty_mm=0.1, scale_uncertainty=0.001)
    record = json.loads(json.dumps(to_record(piece)))
    again = from_record(record)
    assert again.kind == kind
    assert again.seam_line == pytest.approx(piece.seam_line, abs=1e-4)
    assert again.cut_line == pytest.approx(piece.cut_line, abs=1e-4)
    assert [dart.on for dart in again.darts] == [dart.on for dart in piece.darts]
    assert again.uncertainty_mm == pytest.approx(piece.uncertainty_mm)
    assert again.edges[0].allowance.why == piece.edges[0].allowance.why
    assert {"format", "version", "piece", "y", "complete", "cut_line", "seam_line", "grainline", "edges", "darts",
            "marks", "measurements", "notes"} <= set(record)  # fmt: skip


def test_a_damaged_record_is_refused_in_one_sentence() -> None:
    drawn = draw("sleeve", np.random.default_rng(14))
    record = to_record(piece_from(drawn.tracing, "sleeve", told_of(drawn)))
    for spoil, word in (
        ({"version": 2}, "version"),
        ({"piece": "trousers"}, "piece"),
        ({"edges": record["edges"][:-1]}, "join"),
        ({"edges": [{**record["edges"][0], "allowance": -3}, *record["edges"][1:]]}, "allowance"),
    ):
        with pytest.raises(InputError) as said:
            from_record({**record, **spoil})
        assert word in said.value.problem


def test_what_was_told_wins_over_a_printed_line_and_the_difference_is_said() -> None:
    drawn = draw("bodice front", np.random.default_rng(7), stitching=True)
    printed = drawn.piece.edge("side seam").allowance.mm
    piece = piece_from(drawn.tracing, "bodice front", Told(allowances={"side seam": printed + 6.0}))
    assert piece.edge("side seam").allowance.mm == printed + 6.0
    assert piece.edge("side seam").allowance.evidence == "told"
    (note,) = [note for note in piece.notes if note.code == "allowance-told-differs"]
    assert "side seam" in note.text
    same = piece_from(drawn.tracing, "bodice front", Told(allowances={"side seam": printed + 0.5}))
    assert not any(note.code == "allowance-told-differs" for note in same.notes)


@pytest.mark.parametrize("kind", ["bodice front", "sleeve"])
def test_mirrored_lettering_turns_a_piece_over_unless_told_otherwise(kind: PieceKind) -> None:
    drawn = draw(kind, np.random.default_rng(5), flipped=True, stitching=True)
    through = replace(drawn.tracing, mirrored=0.8)
    seen, told, up = (piece_from(through, kind, said) for said in (Told(), Told(face_down=True), Told(face_down=False)))
    for piece, mirrored in ((seen, True), (told, True), (up, False)):
        assert piece.placement is not None
        assert piece.placement.mirrored == mirrored
    assert np.allclose(seen.seam_line, told.seam_line)
    assert "face-down-seen" in {note.code for note in seen.notes}
    assert not {"face-down-seen", "turned-over"} & {note.code for note in told.notes}
    assert "face-down-differs" in {note.code for note in up.notes}
    unknown = piece_from(drawn.tracing, kind)
    said = next(note.text for note in unknown.notes if note.code == "turned-over")
    assert ("other arm" in said) == (kind == "sleeve")
    right_way = piece_from(replace(drawn.tracing, mirrored=-0.8), kind)
    assert not {"face-down-seen", "turned-over"} & {note.code for note in right_way.notes}
