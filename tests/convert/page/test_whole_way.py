"""The whole job through the page's addresses, on the demo job; and that the page has no logic of its own."""

import json
import shutil
import subprocess
import sys
import time
from itertools import pairwise
from pathlib import Path
from typing import Any
from urllib.parse import unquote

import pytest

from convert.cli import main as cli
from convert.job.job import read_job
from convert.page.app import create_app
from convert.page.desk.state import job_state
from convert.page.desk.store import FOLDER
from convert.page.desk.work import Workers
from tests.convert.page.server import PORT, TOKEN, Window
from tests.lab import SAMPLES

FRONT = SAMPLES / "wardrobe" / "s1_front" / "photo.jpg"
STEPS = ["pictures", "mat", "piece", "seams", "maker", "compare", "block", "paper", "toile"]


def folder_of(home: Path) -> Path:
    return home / "demo"


def test_a_job_from_a_picture_dropped(window: Window, tmp_path: Path) -> None:
    """Picture, grid, piece: from nothing to an outline, in the words of a window that knows only ids."""
    job = window.change("POST", "/api/jobs", {"title": "Blouse, second act", "unit": "cm"})["id"]
    base = f"/api/jobs/{job}"
    state = window.get(base)
    assert [step["step"] for step in state["steps"]] == STEPS
    assert state["steps"][0]["state"] == "needs you"
    picture = window.bring(job, FRONT.read_bytes(), "IMG_1234.JPG").json()["picture"]
    piece = window.change("POST", f"{base}/pieces", {"kind": "bodice front", "pictures": [picture]})["id"]
    assert window.get(base)["pieces"][0]["state"] == "waiting"  # nothing says how far apart the lines are
    window.change("PATCH", base, {"grid": "1cm"})
    window.change("POST", f"{base}/pieces/{piece}/read")
    state = window.read_all(job)
    assert state["pieces"][0]["state"] == "read"
    view = window.get(f"{base}/pieces/{piece}/piece")
    assert view["edges"][0]["name"] == "waist"
    toml = (tmp_path / "blouse-second-act" / "job.toml").read_text()
    assert 'pictures = ["pictures/img-1234.jpg"]' in toml
    assert 'grid = "1cm"' in toml


def test_the_mat_is_shown_in_the_pictures_pixels(shared: Window, demo: str) -> None:
    (view,) = shared.get(f"/api/jobs/{demo}/pieces/bodice-front/mat")["pictures"]
    assert (view["width"], view["height"], view["pitch_mm"]) == (4000, 3000, 10.0)
    assert 40 <= len(view["crossings"]) <= 90
    for crossing in view["crossings"]:
        x, y = crossing["px"]
        assert 0 < x < 4000
        assert 0 < y < 3000
        near = min(
            abs((y - a[1]) * (b[0] - a[0]) - (x - a[0]) * (b[1] - a[1])) / max(1.0, abs(b[0] - a[0]) + abs(b[1] - a[1]))
            for line in view["lines"]
            for a, b in pairwise(line)
            if min(a[0], b[0]) - 2 <= x <= max(a[0], b[0]) + 2 and min(a[1], b[1]) - 2 <= y <= max(a[1], b[1]) + 2
        )
        assert near < 1.5, "a crossing lies on a line drawn"


def test_told_and_taken_back_leaves_the_file_as_it_was(shared: Window, demo: str, shared_home: Path) -> None:
    base = f"/api/jobs/{demo}/pieces/bodice-front"
    file = folder_of(shared_home) / "job.toml"
    before = file.read_text()
    read = shared.get(f"{base}/piece")
    notches = [mark["at"] for mark in read["marks"] if mark["kind"] == "notch"]
    told = shared.change(
        "PUT", f"{base}/told", {"allowances": {"side seam": "19 mm"}, "notches": notches[:1], "fold": "centre front"}
    )
    edges = {edge["name"]: edge for edge in told["edges"]}
    assert (edges["side seam"]["allowance"], edges["side seam"]["evidence"]) == (19.0, "told")
    assert len([mark for mark in told["marks"] if mark["kind"] == "notch"]) == 1
    assert told["told"]["notches"][0] == pytest.approx(notches[0], abs=0.05)
    # the command line reads the same
    assert read_job(folder_of(shared_home)).pieces[0].seam.edges["side seam"] == 19.0
    back = shared.change("PUT", f"{base}/told", {"allowances": {"side seam": None}, "notches": None, "fold": None})
    assert back["told"] == {}
    assert file.read_text() == before


def test_what_makes_a_piece_unreadable_is_put_back(shared: Window, demo: str, shared_home: Path) -> None:
    before = (folder_of(shared_home) / "job.toml").read_bytes()
    revision = shared.get(f"/api/jobs/{demo}")["revision"]
    shared.refused("PUT", f"/api/jobs/{demo}/pieces/bodice-front/told", {"outline": [[0, 0], [9, 9], [0, 9], [9, 0]]})
    assert (folder_of(shared_home) / "job.toml").read_bytes() == before
    assert shared.get(f"/api/jobs/{demo}")["revision"] == revision


def test_snapping_finds_the_papers_edge(shared: Window, demo: str) -> None:
    base = f"/api/jobs/{demo}/pieces/bodice-front"
    outline = shared.get(f"{base}/piece")["outline"]
    x, y = outline[100]
    (near, far) = shared.change("POST", f"{base}/snap", {"points": [[x + 1.5, y + 1.0], [x + 500, y]]})["points"]
    assert near == pytest.approx([x, y], abs=2.5)
    assert far == [x + 500, y]


def test_two_windows_do_not_overwrite_each_other(shared: Window, demo: str) -> None:
    other = Window(shared.app)
    shared.get(f"/api/jobs/{demo}")
    other.get(f"/api/jobs/{demo}")
    shared.change("PATCH", f"/api/jobs/{demo}", {"title": "One window"})
    said = other.refused("PATCH", f"/api/jobs/{demo}", {"title": "The other"})
    assert (said["status"], said["code"]) == ("409", "stale")
    assert other.get(f"/api/jobs/{demo}")["title"] == "One window"
    other.revision = None
    assert other.refused("PATCH", f"/api/jobs/{demo}", {"title": "Blind"})["status"] == "428"


def test_a_change_by_hand_is_a_change(shared: Window, demo: str, shared_home: Path) -> None:
    shared.get(f"/api/jobs/{demo}")
    file = folder_of(shared_home) / "maker.toml"
    file.write_text(file.read_text() + "# a remark of hers\n")
    said = shared.refused("PUT", f"/api/jobs/{demo}/maker", {"name": "maker B"})
    assert said["code"] == "stale"
    shared.get(f"/api/jobs/{demo}")
    shared.change("PUT", f"/api/jobs/{demo}/maker", {"name": "maker A"})
    assert "# a remark of hers" in file.read_text()


def test_a_slip_is_asked_about_and_her_answer_is_kept(shared: Window, demo: str) -> None:
    base = f"/api/jobs/{demo}"
    shared.get(base)
    card = shared.change("PUT", f"{base}/maker", {"entries": {"waist": "97"}})
    assert card["entries"]["waist"] == {"text": "97", "mm": 970.0, "state": "doubtful"}
    (asked,) = card["questions"]
    assert (asked["names"], asked["offer"]) == (["waist"], 790.0)
    assert shared.change("POST", f"{base}/maker/answers", {"id": asked["id"], "answer": "right"})["questions"] == []
    card = shared.change("PUT", f"{base}/maker", {"entries": {"waist": "97,0"}})
    (asked,) = card["questions"]  # a new number is looked at anew
    card = shared.change("POST", f"{base}/maker/answers", {"id": asked["id"], "answer": "offer"})
    assert (card["entries"]["waist"]["mm"], card["questions"]) == (790.0, [])
    assert "plenty" in shared.refused("PUT", f"{base}/maker", {"entries": {"waist": "plenty"}})["problem"]
    assert shared.get(f"{base}/maker")["entries"]["waist"]["text"] == "79"


def test_another_unit_keeps_every_length(shared: Window, demo: str) -> None:
    base = f"/api/jobs/{demo}"
    before = shared.get(f"{base}/maker")["entries"]
    shared.change("PATCH", base, {"unit": "in"})
    after = shared.get(f"{base}/maker")
    assert after["unit"] == "in"
    for name, entry in after["entries"].items():
        if before[name]["state"] == "told":
            assert entry["mm"] == pytest.approx(before[name]["mm"])
    shared.change("PATCH", base, {"unit": "cm"})


def test_every_measurement_is_drawn(shared: Window) -> None:
    measures = shared.get("/api/measures")["measures"]
    assert len(measures) > 15
    for one in measures:
        assert one["svg"].startswith("<svg")
        assert "style=" not in one["svg"], "the page's policy lets no style attribute in"
        assert one["how"]


def test_a_makers_name_is_words_in_every_picture(window: Window) -> None:
    """Names and titles go into SVG and JSON as text: nothing that a person types becomes part of the page."""
    job = window.change("POST", "/api/jobs", {"title": "<script>alert(1)</script>"})["id"]
    window.change("PUT", f"/api/jobs/{job}/maker", {"name": '<img src=x onerror="alert(1)">'})
    state = window.ask("GET", f"/api/jobs/{job}")
    assert state.headers["content-type"] == "application/json"
    assert state.json()["maker"]["name"].startswith("<img")


def test_compare_and_block_have_pictures(shared: Window, demo: str) -> None:
    rows = shared.get(f"/api/jobs/{demo}/compare")["rows"]
    assert "bust" in {row["name"] for row in rows}
    block = shared.get(f"/api/jobs/{demo}/block")
    assert len(block["moves"]) > 10
    assert all(check["sound"] for check in block["checks"])
    for svg in [row["svg"] for row in rows] + [move["svg_before_after"] for move in block["moves"]]:
        assert svg.startswith("<svg")
        assert "style=" not in svg


def test_an_amount_is_tried_then_told_then_given_back(shared: Window, demo: str, shared_home: Path) -> None:
    base = f"/api/jobs/{demo}"
    shared.get(base)
    file = folder_of(shared_home) / "job.toml"
    before, block = file.read_text(), shared.get(f"{base}/block")
    move = next(one for one in block["moves"] if one.get("low") is not None and one["piece"] == "bodice back")
    other = move["amount_mm"] + 5.0
    assert move["low"] <= other <= move["high"]
    tried = shared.change("POST", f"{base}/block/try", {"amounts": {move["id"]: other}})
    now = {one["id"]: one for one in tried["moves"]}
    assert now[move["id"]]["amount_mm"] == pytest.approx(other)
    assert now[move["id"]]["svg_before_after"].startswith("<svg")
    assert tried["pieces"] != block["pieces"]
    assert file.read_text() == before, "nothing is kept of what is tried"
    told = shared.change("PUT", f"{base}/block", {"amounts": {move["id"]: other}})
    assert next(one for one in told["moves"] if one["id"] == move["id"])["told"]
    assert "[[block.moves]]" in file.read_text()
    assert read_job(folder_of(shared_home)).choices.moves[0].amount_mm == pytest.approx(other, abs=0.01)
    back = shared.change("PUT", f"{base}/block", {"amounts": {move["id"]: move["amount_mm"]}})
    assert file.read_text() == before, "what was suggested need not be told"
    assert back["pieces"] == block["pieces"]
    shared.refused("POST", f"{base}/block/try", {"amounts": {"bodice back: fly": 5.0}})


def test_ease_and_darts_are_chosen(shared: Window, demo: str, shared_home: Path) -> None:
    base = f"/api/jobs/{demo}"
    shared.get(base)
    file = folder_of(shared_home) / "job.toml"
    before, block = file.read_text(), shared.get(f"{base}/block")
    assert block["choices"]["ease"]["value"] == "usual"
    for place in [one["id"] for one in block["choices"]["darts"]["options"]]:
        tried = shared.change("POST", f"{base}/block/try", {"choices": {"darts": place}})
        assert tried["choices"]["darts"]["value"] == place
    kept = shared.change("PUT", f"{base}/block", {"choices": {"ease": "easy", "darts": "shoulder"}})
    front = next(piece for piece in kept["pieces"] if piece["kind"] == "bodice front")
    # all of it in one dart would be wider than is sewn well: half stays at the waist, and a move says so
    assert {dart["on"] for dart in front["darts"]} == {"shoulder", "waist"}
    assert [one for one in kept["moves"] if one["move"] == "pivot the dart" and one["piece"] == "bodice front"]
    assert {one["name"]: one["ease_mm"] for one in kept["measurements"]}["bust"] == pytest.approx(90.0, abs=0.5)
    job = read_job(folder_of(shared_home))
    assert (job.ease.word, job.choices.darts) == ("easy", "shoulder")
    shared.change("PUT", f"{base}/block", {"choices": {"ease": "usual", "darts": "as the pattern"}})
    assert file.read_text() == before
    assert "easy" in shared.refused("POST", f"{base}/block/try", {"choices": {"ease": "tight"}})["remedy"]


def test_the_pdf_is_the_command_lines(shared: Window, demo: str, demo_made: Path, tmp_path: Path) -> None:
    """Byte for byte: ``ownblock make`` and ``ownblock print`` on the same job."""
    base = f"/api/jobs/{demo}"
    shared.get(base)
    sheets = shared.get(f"{base}/sheets?paper=A4&scale=full")
    made = shared.change("POST", f"{base}/files", {"paper": "A4", "allowance": "1.5 cm"})
    ids = {one["file"]: one["id"] for one in made["files"]}
    names = {one["file"]: one["name"] for one in made["files"]}
    assert "toile.pdf" not in ids, "the same sheets once"
    for name in ("block.pdf", "practice.pdf", "block.svg", "block.dxf", "block.json"):
        got = shared.ask("GET", f"{base}/files/{ids[name]}")
        assert unquote(got.headers["content-disposition"].partition("''")[2]) == names[name]
        assert got.content == (demo_made / "out" / name).read_bytes(), name
    printed = tmp_path / "printed.pdf"
    assert cli.run(["print", str(demo_made), "--paper", "A4", "--allowance", "15mm", "--out", str(printed)]) == 0
    chosen = shared.ask("GET", f"{base}/files/{ids['sheets-to-sew.pdf']}").content
    assert chosen == printed.read_bytes()
    assert sheets["count"] > 10
    assert b"/Count %d" % sheets["count"] in (demo_made / "out" / "block.pdf").read_bytes()


def test_a_file_that_somebody_changed_is_not_overwritten(shared: Window, demo: str, shared_home: Path) -> None:
    base = f"/api/jobs/{demo}"
    shared.get(base)
    shared.change("POST", f"{base}/files", {"test": True})
    file = folder_of(shared_home) / "out" / "printer-test.pdf"
    file.write_bytes(b"%PDF of hers")
    said = shared.refused("POST", f"{base}/files", {"test": True, "square": "98.5"})
    assert "printer-test.pdf" in said["problem"]
    assert file.read_bytes() == b"%PDF of hers"
    file.unlink()


def test_the_print_test_says_what_was_measured(shared: Window, demo: str) -> None:
    base = f"/api/jobs/{demo}"
    for square in ("98.5", "98,5", "9.85 cm", "98.5, 99"):  # square_of is the card's unit where nothing is said
        shared.get(f"{base}/sheets?paper=A4&scale=quarter&square={square}")
    assert "40" in shared.refused("GET", f"{base}/sheets?square=40")["problem"]
    assert "A4" in shared.refused("GET", f"{base}/sheets?paper=A9")["remedy"]


def test_a_fitting_is_carried_in_and_taken_back(shared: Window, demo: str, shared_home: Path) -> None:
    base = f"/api/jobs/{demo}"
    shared.get(base)
    before = shared.get(f"{base}/toile")
    assert before["changes"] == []
    change = {"place": "side seam at the waist", "amount_mm": -10.0, "on": ["bodice back"]}
    after = shared.change("POST", f"{base}/toile", {"changes": [change]})
    assert [(one["place"], one["amount_mm"]) for one in after["changes"]] == [("side seam at the waist", -10.0)]
    assert after["pieces"] != before["pieces"]
    assert "side seam at the waist" in (folder_of(shared_home) / "toile.toml").read_text()
    back = shared.change("POST", f"{base}/toile/undo")
    assert (back["changes"], back["pieces"]) == ([], before["pieces"])
    assert "undone = true" in (folder_of(shared_home) / "toile.toml").read_text()
    (folder_of(shared_home) / "toile.toml").unlink()
    shared.refused("POST", f"{base}/toile", {"changes": [{**change, "place": "elbow grease"}]})
    shared.get(base)
    sign = shared.get(f"{base}/toile/say?text=drag lines from bust to side")
    assert sign["becomes"] == "likely"
    assert all(one["pictures"][0].startswith("<svg") for one in sign["choices"])
    assert shared.get(f"{base}/toile/say?text=the elbow purrs")["becomes"] == "unknown"
    assert shared.get(f"{base}/toile/say?text=waist: in 1 cm")["becomes"] == "done"
    told = shared.change("POST", f"{base}/toile", {"words": ["the bust dart points too low, 1.5 cm"]})
    assert told["changes"][-1]["place"] == "bust point down"
    shared.change("POST", f"{base}/toile/undo")
    (folder_of(shared_home) / "toile.toml").unlink()
    shared.get(base)
    shared.refused("POST", f"{base}/toile", {"changes": [{**change, "on": ["sleeve of another"]}]})


def test_pictures_are_served_upright_and_small(shared: Window, demo: str) -> None:
    base = f"/api/jobs/{demo}"
    picture = shared.get(base)["pictures"][0]["id"]
    first = shared.ask("GET", f"{base}/pictures/{picture}/image?width=600")
    assert first.headers["content-type"] == "image/jpeg"
    assert len(first.content) < 200_000
    again = shared.ask(
        "GET", f"{base}/pictures/{picture}/image?width=600", headers={"If-None-Match": first.headers["etag"]}
    )
    assert (again.status_code, again.content) == (304, b"")
    sheet = shared.get(f"{base}/pieces/sleeve/sheet")
    flat = shared.ask("GET", f"{base}/pieces/sleeve/sheet.jpg?width=500")
    assert flat.content[:2] == b"\xff\xd8"
    assert sheet["width"] > 3000


def test_a_picture_in_use_stays(shared: Window, demo: str) -> None:
    base = f"/api/jobs/{demo}"
    picture = shared.get(base)["pictures"][0]["id"]
    assert shared.refused("DELETE", f"{base}/pictures/{picture}")["code"] == "in-use"


def test_a_piece_taken_out_leaves_its_picture(window: Window, tmp_path: Path) -> None:
    job = window.change("POST", "/api/jobs", {"title": "A"})["id"]
    base = f"/api/jobs/{job}"
    picture = window.bring(job, FRONT.read_bytes()).json()["picture"]
    piece = window.change("POST", f"{base}/pieces", {"kind": "sleeve", "pictures": [picture]})["id"]
    said = window.refused("POST", f"{base}/pieces", {"kind": "sleeve", "pictures": [picture]})
    assert "sleeve already" in said["problem"]
    assert window.change("PATCH", f"{base}/pieces/{piece}", {"kind": "bodice front"})["id"] == "bodice-front"
    assert "bodice front" in window.refused("POST", f"{base}/pieces", {"kind": "sock", "pictures": [picture]})["remedy"]
    window.change("DELETE", f"{base}/pieces/bodice-front")
    state = window.get(base)
    assert (state["pieces"], [one["id"] for one in state["pictures"]]) == ([], [picture])
    window.change("DELETE", f"{base}/pictures/{picture}")
    assert window.get(base)["pictures"] == []
    kept = [one.name for one in (tmp_path / "a" / "pictures").iterdir()]
    assert all(name.startswith(".") for name in kept), kept  # out of sight, and there to come back


def test_work_can_be_stopped_and_begun_again(tmp_path: Path, workers: Workers) -> None:
    window = Window(create_app(tmp_path, token=TOKEN, port=PORT, workers=workers))
    job = window.change("POST", "/api/jobs", {"title": "A"})["id"]
    base = f"/api/jobs/{job}"
    window.change("PATCH", base, {"grid": "1cm"})
    picture = window.bring(job, FRONT.read_bytes() + b"\0\0").json()["picture"]  # contents that nobody has read yet
    piece = window.change("POST", f"{base}/pieces", {"kind": "bodice front", "pictures": [picture]})["id"]
    work = window.change("POST", f"{base}/pieces/{piece}/read")["work"]
    assert window.ask("DELETE", f"{base}/work/{work}").status_code == 204
    while window.get(base)["pieces"][0]["state"] == "working":
        time.sleep(0.05)
    assert window.get(base)["pieces"][0]["state"] == "waiting"
    window.change("POST", f"{base}/pieces/{piece}/read")
    assert window.read_all(job)["pieces"][0]["state"] == "read"
    window.refused("DELETE", f"{base}/work/{work}")


def test_a_restart_goes_on_where_it_was(tmp_path: Path, workers: Workers) -> None:
    """A crash at any step loses nothing: another application on the same folder shows the same state."""
    window = Window(create_app(tmp_path, token=TOKEN, port=PORT, workers=workers))
    job = window.change("POST", "/api/jobs", {"title": "A"})["id"]
    base = f"/api/jobs/{job}"

    def restarted() -> dict[str, Any]:
        nonlocal window
        before = window.get(base)
        window = Window(create_app(tmp_path, token=TOKEN, port=PORT, workers=workers))
        after = window.read_all(job) if before["pieces"] else window.get(base)
        for key in ("revision", "title", "grid", "unit", "place", "pictures"):
            assert after[key] == before[key], key
        return after

    restarted()
    picture = window.bring(job, FRONT.read_bytes()).json()["picture"]
    assert restarted()["pictures"][0]["id"] == picture
    window.change("PATCH", base, {"grid": "1cm"})
    piece = window.change("POST", f"{base}/pieces", {"kind": "bodice front", "pictures": [picture]})["id"]
    window.change("POST", f"{base}/pieces/{piece}/read")
    assert restarted()["pieces"][0]["state"] == "read"  # in the middle of reading
    window.change("PUT", f"{base}/pieces/{piece}/told", {"allowances": {"side seam": "2 cm"}})
    restarted()
    edges = window.get(f"{base}/pieces/{piece}/piece")["edges"]
    assert next(edge["allowance"] for edge in edges if edge["name"] == "side seam") == 20.0
    window.change("PUT", f"{base}/maker", {"name": "maker A", "entries": {"bust": "94", "waist": "79"}})
    assert window.ask("PUT", f"{base}/place", {"step": "compare", "seen": ["mat/bodice-front"]}).status_code == 200
    assert restarted()["place"] == {"step": "compare", "seen": ["mat/bodice-front"]}
    assert window.get(f"{base}/compare")["rows"]
    block = window.get(f"{base}/block")
    restarted()
    assert window.get(f"{base}/block")["pieces"] == block["pieces"]


class _Refusing(Workers):
    """Nothing may be read by these."""

    def submit(self, name: str, *arguments: Any, stage: Any = None) -> Any:
        raise AssertionError(f"{name} was begun")


def test_a_restart_reads_nothing_again(tmp_path: Path, demo_read: Path) -> None:
    """What was read lies beside the job: another start shows it without looking at a picture."""
    shutil.copytree(demo_read, tmp_path / "demo")
    window = Window(create_app(tmp_path, token=TOKEN, port=PORT, workers=_Refusing()))
    job = window.get("/api/jobs")["jobs"][0]["id"]
    state = window.get(f"/api/jobs/{job}")
    assert [piece["state"] for piece in state["pieces"]] == ["read"] * 5
    assert window.get(f"/api/jobs/{job}/pieces/sleeve/piece")["edges"]
    assert window.ask("GET", f"/api/jobs/{job}/pieces/sleeve/sheet.jpg?width=400").content[:2] == b"\xff\xd8"
    shutil.rmtree(tmp_path / "demo" / FOLDER)
    with pytest.raises(AssertionError, match="was begun"):  # the store is not needed, it only saves time
        state_of(tmp_path, job)


def state_of(home: Path, job: str) -> None:
    app = create_app(home, token=TOKEN, port=PORT, workers=_Refusing())
    app.state.desk.shelf.folders()
    job_state(app.state.desk, app.state.desk.shelf.folder(job))


def test_a_job_written_by_hand_opens(tmp_path: Path, workers: Workers) -> None:
    """Half-written files say what is missing, in the shape of every problem; nothing breaks."""
    (tmp_path / "job.toml").write_text('grid = "1cm"\n[[pieces]]\npiece = "sleeve"\npictures = ["gone.jpg"]\n')
    window = Window(create_app(tmp_path, token=TOKEN, port=PORT, workers=workers))
    ((job,),) = [[one["id"] for one in window.get("/api/jobs")["jobs"]]]
    state = window.get(f"/api/jobs/{job}")
    assert "gone.jpg" in state["problem"]["problem"]
    assert state["pictures"][0]["problem"]["code"] == "missing"
    (tmp_path / "job.toml").write_text("grid = [[[")
    assert "job.toml" in window.refused("GET", f"/api/jobs/{job}")["problem"]
    assert len(window.get("/api/jobs")["jobs"]) == 1


def test_the_command_opens_the_page(tmp_path: Path) -> None:
    """``ownblock open`` as a person starts it: an address with a token on this machine, the page behind it, Ctrl+C."""
    import httpx

    words = [sys.executable, "-m", "convert.cli.main", "open", str(tmp_path), "--no-browser"]
    with subprocess.Popen(words, stderr=subprocess.PIPE, text=True, cwd=Path(__file__).parents[3]) as running:
        try:
            assert running.stderr is not None
            address = running.stderr.readline().split()[-1]
            assert address.startswith("http://127.0.0.1:")
            with httpx.Client(follow_redirects=True, timeout=None) as client:
                page = client.get(address)
                assert page.status_code == 200
                assert "token" not in str(page.url)
                job = client.post(f"{page.url}api/jobs", json={"title": "A"}).json()["id"]
                with client.stream("GET", f"{page.url}api/jobs/{job}/events") as events:
                    lines = events.iter_lines()
                    assert "revision" in json.loads(next(lines).removeprefix("data: "))
                    place = f"{page.url}api/jobs/{job}"
                    revision = client.get(place).json()["revision"]
                    new = client.patch(place, json={"title": "B"}, headers={"If-Match": revision}).json()["revision"]
                    told = [line for line in (next(lines), next(lines)) if line]
                    assert json.loads(told[0].removeprefix("data: ")) == {"revision": new}
                    running.send_signal(2)  # while a window still listens
                    assert running.wait() == 0
        finally:
            running.kill()
