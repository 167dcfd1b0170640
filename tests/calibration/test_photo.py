"""Reading pictures: what phones and scanners save comes upright and true; what is bad is refused with a remedy."""

import io
import struct
import zlib
from pathlib import Path

import numpy as np
import pytest
from PIL import Image, ImageCms, ImageOps

from calibration import InputError, read_photo
from calibration.picture.photo import count_pages

WIDTH, HEIGHT = 720, 480
SMOOTH = 4  # grey levels that a good lossy coder may be off on a smooth picture


def scene() -> Image.Image:
    """A picture that looks different from all eight sides: ramps, and a block in its upper left corner."""
    x, y = np.meshgrid(np.linspace(20, 220, WIDTH), np.linspace(30, 230, HEIGHT))
    pixels = np.stack([x, y, 255 - x], axis=-1).astype(np.uint8)
    pixels[:96, :160] = (250, 10, 10)
    return Image.fromarray(pixels)


def far_apart(a: np.ndarray, b: np.ndarray) -> float:
    assert a.shape == b.shape
    return float(np.percentile(np.abs(a.astype(int) - b.astype(int)), 99))


def saved(folder: Path, name: str, image: Image.Image, **options: object) -> Path:
    image.save(folder / name, **options)
    return folder / name


@pytest.mark.parametrize("orientation", range(1, 9))
@pytest.mark.parametrize("ending", ["jpg", "png", "tif", "webp"])
def test_any_orientation_comes_upright_once(tmp_path: Path, orientation: int, ending: str) -> None:
    exif = Image.Exif()
    exif[274] = orientation
    options = {"quality": 95} if ending == "jpg" else {"lossless": True} if ending == "webp" else {}
    path = saved(tmp_path, f"a.{ending}", scene(), exif=exif, dpi=(300, 200), **options)
    reference = np.asarray(ImageOps.exif_transpose(Image.open(path)).convert("RGB"))  # Pillow's own turning
    photo = read_photo(path)
    np.testing.assert_array_equal(photo.pixels, reference)
    assert photo.size_px == ((WIDTH, HEIGHT) if orientation <= 4 else (HEIGHT, WIDTH))
    if ending != "webp":  # a WebP has no place for a resolution
        assert photo.dpi == pytest.approx((300, 200) if orientation <= 4 else (200, 300), abs=0.01)


@pytest.mark.parametrize("orientation", [1, 3, 6, 8])
def test_heic_comes_upright_whatever_its_exif_says(tmp_path: Path, orientation: int) -> None:
    pillow_heif = pytest.importorskip("pillow_heif")
    exif = Image.Exif()
    exif[274] = orientation
    heif = pillow_heif.from_pillow(scene())
    heif.save(tmp_path / "a.heic", quality=95, exif=exif.tobytes())
    pillow_heif_image = pillow_heif.open_heif(tmp_path / "a.heic").to_pillow()
    photo = read_photo(tmp_path / "a.heic")
    np.testing.assert_array_equal(photo.pixels, np.asarray(pillow_heif_image.convert("RGB")))


def test_same_picture_through_every_format(tmp_path: Path) -> None:
    pillow_heif = pytest.importorskip("pillow_heif")
    truth = np.asarray(scene())
    pillow_heif.from_pillow(scene()).save(tmp_path / "a.heic", quality=95)
    for name in ("a.png", "a.tif", "a.jpg", "a.webp"):
        saved(tmp_path, name, scene(), **({"quality": 95} if name[2:] in ("jpg", "webp") else {}))
    for name in ("a.png", "a.tif", "a.jpg", "a.webp", "a.heic"):
        assert far_apart(read_photo(tmp_path / name).pixels, truth) <= SMOOTH, name


def test_ending_does_not_matter(tmp_path: Path) -> None:
    scene().save(tmp_path / "really_a_png.jpg", format="PNG")
    np.testing.assert_array_equal(read_photo(tmp_path / "really_a_png.jpg").pixels, np.asarray(scene()))


@pytest.mark.parametrize("mode", ["L", "LA", "RGBA", "P", "1", "CMYK", "YCbCr"])
def test_every_mode_becomes_red_green_blue(tmp_path: Path, mode: str) -> None:
    image = scene().convert(mode)
    ending = "tif" if mode in ("CMYK", "YCbCr") else "png"
    photo = read_photo(saved(tmp_path, f"a.{ending}", image))
    assert far_apart(photo.pixels, np.asarray(image.convert("RGB"))) <= SMOOTH


def test_cmyk_jpeg(tmp_path: Path) -> None:
    path = saved(tmp_path, "a.jpg", scene().convert("CMYK"), quality=95)
    assert far_apart(read_photo(path).pixels, np.asarray(scene())) <= 3 * SMOOTH


def test_grey_progressive_jpeg(tmp_path: Path) -> None:
    path = saved(tmp_path, "a.jpg", scene().convert("L"), quality=95, progressive=True)
    np.testing.assert_array_equal(read_photo(path).pixels, np.asarray(Image.open(path).convert("RGB")))


@pytest.mark.parametrize("ending", ["png", "tif"])
def test_16_bit_grey_keeps_its_tones(tmp_path: Path, ending: str) -> None:
    grey = np.asarray(scene().convert("L"))
    Image.fromarray(grey.astype(np.uint16) * 257).save(tmp_path / f"a.{ending}")
    np.testing.assert_array_equal(read_photo(tmp_path / f"a.{ending}").pixels[..., 0], grey)


def test_16_bit_colour_png(tmp_path: Path) -> None:
    cv2 = pytest.importorskip("cv2")
    deep = np.asarray(scene()).astype(np.uint16) * 257
    cv2.imwrite(str(tmp_path / "a.png"), deep[..., ::-1])
    cv2.imwrite(str(tmp_path / "a.tif"), deep[..., ::-1])
    for name in ("a.png", "a.tif"):
        assert far_apart(read_photo(tmp_path / name).pixels, np.asarray(scene())) <= 1, name


def test_clear_becomes_white(tmp_path: Path) -> None:
    image = scene().convert("RGBA")
    image.putalpha(0)
    assert (read_photo(saved(tmp_path, "a.png", image)).pixels == 255).all()


def test_told_turn_is_clockwise(tmp_path: Path) -> None:
    path = saved(tmp_path, "a.png", scene(), dpi=(300, 200))
    photo = read_photo(path, rotate_deg=90)
    np.testing.assert_array_equal(photo.pixels, np.asarray(scene().rotate(-90, expand=True)))
    assert photo.dpi == pytest.approx((200, 300), abs=0.01)
    np.testing.assert_array_equal(read_photo(path, rotate_deg=-90).pixels, np.asarray(scene().rotate(90, expand=True)))


def test_a_colour_profile_does_no_harm(tmp_path: Path) -> None:
    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    path = saved(tmp_path, "a.jpg", scene(), quality=95, icc_profile=profile)
    assert far_apart(read_photo(path).pixels, np.asarray(scene())) <= SMOOTH


def test_a_phone_s_film_behind_the_picture_is_passed_over(tmp_path: Path) -> None:
    path = saved(tmp_path, "a.jpg", scene(), quality=95)
    plain = read_photo(path).pixels
    path.write_bytes(path.read_bytes() + b"\x00\x00\x00\x18ftypmp42" + bytes(range(256)) * 40)
    np.testing.assert_array_equal(read_photo(path).pixels, plain)


def test_two_pictures_in_one_jpeg_give_the_first(tmp_path: Path) -> None:
    small = scene().resize((360, 240))
    path = saved(tmp_path, "a.jpg", scene(), format="MPO", save_all=True, append_images=[small], quality=95)
    assert far_apart(read_photo(path).pixels, np.asarray(scene())) <= SMOOTH


def test_nonsense_in_the_exif_is_no_reason_to_fail(tmp_path: Path) -> None:
    path = saved(tmp_path, "a.jpg", scene(), quality=95)
    data = path.read_bytes()
    broken = b"Exif\x00\x00II*\x00\x08\x00\x00\x00\x05\x00\x12\x01\x03\x00\xff\xff\xff\xff"
    path.write_bytes(data[:2] + b"\xff\xe1" + struct.pack(">H", len(broken) + 2) + broken + data[2:])
    assert far_apart(read_photo(path).pixels, np.asarray(scene())) <= SMOOTH


# --- scanned PDF pages --------------------------------------------------------------------------------------------


def pdf_of(
    image: Image.Image, *, page_mm: tuple[float, float], turn: int = 0, strips: int = 1, pages: int = 1
) -> bytes:
    """A PDF made by another library whose page is this picture, edge to edge."""
    from reportlab.lib.units import mm
    from reportlab.lib.utils import ImageReader
    from reportlab.pdfgen.canvas import Canvas

    out = io.BytesIO()
    width, height = page_mm[0] * mm, page_mm[1] * mm
    canvas = Canvas(out, pagesize=(width, height))
    for _ in range(pages):
        step = image.height // strips
        for i in range(strips):
            part = image.crop((0, i * step, image.width, (i + 1) * step))
            canvas.drawImage(ImageReader(part), 0, height * (1 - (i + 1) / strips), width, height / strips)
        canvas.setPageRotation(turn)
        canvas.showPage()
    canvas.save()
    return out.getvalue()


@pytest.mark.parametrize("turn", [0, 90, 180, 270])
def test_scanned_page_at_its_own_resolution(tmp_path: Path, turn: int) -> None:
    page = (WIDTH / 100 * 25.4, HEIGHT / 200 * 25.4)  # 100 dpi across, 200 dpi down: a scanner's two scales
    (tmp_path / "a.pdf").write_bytes(pdf_of(scene(), page_mm=page, turn=turn))
    photo = read_photo(tmp_path / "a.pdf")
    np.testing.assert_array_equal(photo.pixels, np.asarray(scene().rotate(-turn, expand=True)))
    assert photo.dpi == pytest.approx((100, 200) if turn % 180 == 0 else (200, 100), rel=1e-4)


def test_scanned_page_in_strips_is_drawn(tmp_path: Path) -> None:
    page = (WIDTH / 100 * 25.4, HEIGHT / 100 * 25.4)
    (tmp_path / "a.pdf").write_bytes(pdf_of(scene(), page_mm=page, strips=4))
    photo = read_photo(tmp_path / "a.pdf")
    assert photo.size_px == pytest.approx((WIDTH, HEIGHT), abs=1)
    assert photo.dpi == (100.0, 100.0)
    common = np.asarray(scene())[: photo.size_px[1], : photo.size_px[0]]
    assert far_apart(photo.pixels[: common.shape[0], : common.shape[1]], common) <= SMOOTH


def test_pages_are_counted_and_read_by_number(tmp_path: Path) -> None:
    page = (WIDTH / 100 * 25.4, HEIGHT / 100 * 25.4)
    (tmp_path / "a.pdf").write_bytes(pdf_of(scene(), page_mm=page, pages=3))
    scene().save(tmp_path / "a.tif", save_all=True, append_images=[scene().rotate(180)])
    assert count_pages(tmp_path / "a.pdf") == 3
    assert count_pages(tmp_path / "a.tif") == 2
    second = read_photo(tmp_path / "a.tif", page=2).pixels
    np.testing.assert_array_equal(second, np.asarray(scene().rotate(180)))
    assert read_photo(tmp_path / "a.pdf", page=3).size_px == (WIDTH, HEIGHT)
    for name in ("a.pdf", "a.tif"):
        with pytest.raises(InputError, match="page"):
            read_photo(tmp_path / name, page=9)


# --- what can't be read -------------------------------------------------------------------------------------------


def refusal(path: Path, problem: str) -> InputError:
    with pytest.raises(InputError, match=problem) as caught:
        read_photo(path)
    assert caught.value.remedy.endswith(".")
    assert path.name in caught.value.problem
    return caught.value


def test_missing_empty_folder(tmp_path: Path) -> None:
    refusal(tmp_path / "nowhere.jpg", "is not there")
    (tmp_path / "empty.jpg").touch()
    refusal(tmp_path / "empty.jpg", "is empty")
    refusal(tmp_path, "is a folder")


@pytest.mark.parametrize(
    "content", [b"Dear maker, this is a letter.", bytes(range(256)) * 50, b"PK\x03\x04" + bytes(200), b"\xff\xd8"]
)
def test_not_a_picture(tmp_path: Path, content: bytes) -> None:
    (tmp_path / "letter.jpg").write_bytes(content)
    refusal(tmp_path / "letter.jpg", "not a picture|damaged|cut short")


def test_drawing(tmp_path: Path) -> None:
    (tmp_path / "a.svg").write_text('<?xml version="1.0"?>\n<svg xmlns="http://www.w3.org/2000/svg"/>')
    refusal(tmp_path / "a.svg", "SVG")


@pytest.mark.parametrize("ending", ["jpg", "png", "tif", "webp", "heic", "pdf"])
@pytest.mark.parametrize("share", [0.02, 0.3, 0.7, 0.97])
def test_cut_short(tmp_path: Path, ending: str, share: float) -> None:
    path = tmp_path / f"a.{ending}"
    noisy = Image.fromarray(np.random.default_rng(1).integers(0, 255, (HEIGHT, WIDTH, 3), dtype=np.uint8))
    if ending == "pdf":
        path.write_bytes(pdf_of(noisy, page_mm=(180, 120)))
    elif ending == "heic":
        pytest.importorskip("pillow_heif").from_pillow(noisy).save(path)
    else:
        noisy.save(path)
    data = path.read_bytes()
    path.write_bytes(data[: int(len(data) * share)])
    refusal(path, "cut short|damaged|not a picture")


def png_that_says(width: int, height: int) -> bytes:
    def chunk(kind: bytes, body: bytes) -> bytes:
        return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))

    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(b"\0")) + chunk(b"IEND", b"")


@pytest.mark.parametrize("size", [(12_000, 10_000), (20_000, 9_000), (60_000, 60_000)])
def test_far_too_large(tmp_path: Path, size: tuple[int, int]) -> None:
    (tmp_path / "bomb.png").write_bytes(png_that_says(*size))
    refusal(tmp_path / "bomb.png", "megapixels")


def test_far_too_small(tmp_path: Path) -> None:
    saved(tmp_path, "tiny.jpg", scene().resize((320, 240)))
    assert "320 × 240" in refusal(tmp_path / "tiny.jpg", "too small").problem
    saved(tmp_path, "strip.png", Image.new("RGB", (8000, 60)))
    refusal(tmp_path / "strip.png", "too small")


@pytest.mark.parametrize("ending", ["gif", "webp", "png"])
def test_moving(tmp_path: Path, ending: str) -> None:
    others = [scene().rotate(180)]
    saved(tmp_path, f"a.{ending}", scene(), save_all=True, append_images=others, duration=100)
    refusal(tmp_path / f"a.{ending}", "moves")


def test_pdf_without_a_scan(tmp_path: Path) -> None:
    from reportlab.pdfgen.canvas import Canvas

    canvas = Canvas(str(tmp_path / "a.pdf"))
    canvas.drawString(100, 100, "only words")
    canvas.save()
    refusal(tmp_path / "a.pdf", "no scanned picture")


def test_odd_turn(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="45 degrees"):
        read_photo(saved(tmp_path, "a.png", scene()), rotate_deg=45)
