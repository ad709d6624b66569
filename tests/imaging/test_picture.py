"""Photographs and drawings of every kind: in light, upright, or refused in one sentence."""

import io
import resource
import struct
import subprocess
import sys
import zlib
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from PIL import Image, ImageCms

from laydown.color.lab import WHITE_D50
from laydown.errors import BadFileError
from laydown.imaging.picture import Picture, open_picture

PICTURE = Image.fromarray(np.random.default_rng(0).integers(0, 255, (300, 400, 3), dtype=np.uint8))
MOST_MEGABYTES = 1500


def packed(image: Image.Image, form: str, **options: object) -> bytes:
    """Return an image as a file."""
    content = io.BytesIO()
    image.save(content, form, **options)
    return content.getvalue()


def opened(content: bytes, *, longest: int | None = None, page: int = 1) -> Picture:
    """Open a file."""
    return open_picture(content, source="file", longest=longest, page=page)


def plain(mode: str, color: object, size: tuple[int, int] = (80, 60)) -> Image.Image:
    """Return a picture all of one color."""
    return Image.new(mode, size, color)


def luminance(picture: Picture) -> float:
    """Return the mean luminance."""
    return float(picture.xyz[..., 1].mean())


def half_black(mode: str) -> Image.Image:
    """Return a picture whose every second pixel is black."""
    pixels = np.indices((400, 400)).sum(axis=0) % 2 * 255
    return Image.fromarray(pixels.astype(np.uint8)).convert(mode)


def raw_png(width: int, height: int, color: int, row: bytes) -> bytes:
    """Return a PNG in 8 bits of equal rows, made without the picture itself in memory."""
    deflate = zlib.compressobj(1)
    lines = [deflate.compress(b"\0" + row) for _ in range(height)]
    header = struct.pack(">IIBBBBB", width, height, 8, color, 0, 0, 0)
    parts = [(b"IHDR", header), (b"IDAT", b"".join(lines) + deflate.flush()), (b"IEND", b"")]
    chunks = [
        struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))
        for kind, data in parts
    ]
    return b"\x89PNG\r\n\x1a\n" + b"".join(chunks)


@pytest.mark.parametrize(
    ("mode", "form"),
    [
        ("1", "PNG"),
        ("1", "TIFF"),
        ("L", "JPEG"),
        ("LA", "PNG"),
        ("P", "PNG"),
        ("RGB", "PNG"),
        ("RGB", "JPEG"),
        ("RGB", "TIFF"),
        ("RGBA", "PNG"),
        ("RGBA", "TIFF"),
        ("CMYK", "JPEG"),
        ("CMYK", "TIFF"),
    ],
)
def test_white_is_white_in_every_mode(mode: str, form: str) -> None:
    """White paper has the light of the perfect white, whatever way it is written."""
    white = plain("RGB", (255, 255, 255)).convert(mode)
    picture = opened(packed(white, form))
    assert picture.xyz.shape == (60, 80, 3)
    assert np.allclose(picture.xyz, WHITE_D50, atol=0.05)
    assert picture.opaque.all()


@pytest.mark.parametrize("mode", ["1", "L", "RGB", "P"])
def test_half_black_and_half_white_is_half_the_light(mode: str) -> None:
    """A hatching made smaller keeps its light, not the mean of its encoded numbers."""
    picture = opened(packed(half_black(mode), "PNG"), longest=100)
    assert picture.xyz.shape == (100, 100, 3)
    assert np.allclose(picture.xyz[..., 1], 50.0, atol=0.1)


def test_sixteen_bits_of_gray_are_all_used() -> None:
    """Two grays of one 8-bit number are told apart; the sRGB curve holds between its steps."""
    grays = [np.full((60, 80), level, np.uint16) for level in (32896, 33000)]
    lights = [luminance(opened(packed(Image.fromarray(gray), "PNG"))) for gray in grays]
    assert lights[0] == pytest.approx(100 * ((128 / 255 + 0.055) / 1.055) ** 2.4, abs=0.01)
    assert lights[1] > lights[0] + 0.05


def test_sixteen_bits_of_color_are_read_and_it_is_said() -> None:
    """Of a color picture in 16 bits a channel the upper 8 are used."""
    row = b"\0" + b"\x80\x10" * 3 * 100
    header = struct.pack(">IIBBBBB", 100, 100, 16, 2, 0, 0, 0)
    parts = [(b"IHDR", header), (b"IDAT", zlib.compress(row * 100)), (b"IEND", b"")]
    content = b"\x89PNG\r\n\x1a\n" + b"".join(
        struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))
        for kind, data in parts
    )
    picture = opened(content)
    assert luminance(picture) == pytest.approx(100 * ((128 / 255 + 0.055) / 1.055) ** 2.4, abs=0.01)
    assert any("16 bits" in note for note in picture.notes)


@pytest.mark.parametrize("mode", ["RGBA", "LA"])
def test_what_is_transparent_is_laid_over_white_paper(mode: str) -> None:
    """Black covering a quarter leaves three quarters of the paper's light; nothing counts as
    opaque that covers less than half, and it is said.
    """
    black = plain("RGBA", (0, 0, 0, 64)).convert(mode)
    picture = opened(packed(black, "PNG"))
    assert luminance(picture) == pytest.approx(100 * (1 - 64 / 255), abs=0.05)
    assert not picture.opaque.any()
    assert any("white paper" in note for note in picture.notes)


def test_a_transparent_color_of_a_palette_is_paper() -> None:
    """One color of a palette marked as see-through shows white paper."""
    two = plain("P", 0)
    two.putpalette([0, 0, 0, 200, 0, 0])
    two.paste(1, (40, 0, 80, 60))
    picture = opened(packed(two, "PNG", transparency=0))
    assert np.allclose(picture.xyz[:, :40], WHITE_D50, atol=0.05)
    assert not picture.opaque[:, :40].any()
    assert picture.opaque[:, 40:].all()


@pytest.mark.parametrize("form", ["JPEG", "TIFF", "PNG"])
@pytest.mark.parametrize("orientation", range(1, 9))
def test_a_picture_comes_upright(
    as_held: Callable[[Image.Image, int, str], bytes], orientation: int, form: str
) -> None:
    """However the camera was held, the dark corner ends up where it was seen: upper left."""
    seen = plain("L", 255, (96, 64))
    seen.paste(0, (0, 0, 32, 32))
    seen.paste(128, (64, 0, 96, 32))
    picture = opened(as_held(seen, orientation, form))
    assert picture.xyz.shape == (64, 96, 3)
    assert picture.size == (96, 64)
    assert picture.xyz[8:24, 8:24, 1].max() < 1.0
    assert picture.xyz[8:24, 72:88, 1] == pytest.approx(21.6, abs=1.0)
    assert picture.xyz[40:56, 8:24, 1].min() > 99.0


def test_an_embedded_profile_is_used(debian_data: Callable[[str, str], Path]) -> None:
    """The same numbers under a wider profile are a color of more chroma."""
    path = debian_data("icc-profiles-free", "usr/share/color/icc/compatibleWithAdobeRGB1998.icc")
    red = plain("RGB", (200, 40, 40))
    wide = opened(packed(red, "TIFF", icc_profile=path.read_bytes()))
    usual = opened(packed(red, "TIFF"))
    chroma = [float(np.hypot(*p.lab[0, 0, 1:])) for p in (wide, usual)]
    assert chroma[0] > chroma[1] + 10
    assert any("AdobeRGB" in note.replace(" ", "") for note in wide.notes)


def test_a_gray_profile_is_used(debian_data: Callable[[str, str], Path]) -> None:
    """A gray profile whose curve is that of CIELAB makes 50 in 100 of its scale L* 50."""
    path = debian_data("icc-profiles-free", "usr/share/color/icc/Gray-CIE_L.icc")
    gray = plain("L", 128)
    picture = opened(packed(gray, "TIFF", icc_profile=path.read_bytes()))
    assert picture.lab[0, 0] == pytest.approx([100 * 128 / 255, 0, 0], abs=0.2)


def test_a_profile_of_another_kind_is_left_aside_and_it_is_said() -> None:
    """A profile that does not fit the picture spoils nothing."""
    srgb = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    for mode in ("L", "CMYK"):
        picture = opened(packed(plain("L", 255).convert(mode), "TIFF", icc_profile=srgb))
        assert np.allclose(picture.xyz, WHITE_D50, atol=0.05)
        assert any("can't be used" in n or "rough guess" in n for n in picture.notes)


def test_cielab_is_read_as_it_is() -> None:
    """A TIFF in CIELAB needs no profile."""
    lab = Image.frombytes("LAB", (80, 60), bytes([128, 30, 226]) * 4800)
    picture = opened(packed(lab, "TIFF"))
    assert picture.lab[0, 0] == pytest.approx([50.2, 30, -30], abs=0.1)


def test_a_page_of_a_pdf_or_a_tiff_is_chosen() -> None:
    """The page asked for is read, and the sentence says of how many; a wrong one is refused."""
    pages = [plain("RGB", (v, v, v)) for v in (255, 0)]
    for form in ("TIFF", "PDF"):
        content = packed(pages[0], form, save_all=True, append_images=pages[1:])
        assert luminance(opened(content)) > 99
        second = opened(content, page=2)
        assert luminance(second) < 1
        assert "Page 2 of 2 is read." in second.notes
        with pytest.raises(BadFileError, match="no page 3"):
            opened(content, page=3)


def test_heic_is_read() -> None:
    """What phones save by themselves is read where the extra is installed."""
    heif = pytest.importorskip("pillow_heif")
    heif.register_heif_opener()
    picture = opened(packed(plain("RGB", (255, 255, 255), (128, 96)), "HEIF"))
    assert picture.xyz.shape == (96, 128, 3)
    assert luminance(picture) > 98


@pytest.mark.parametrize(
    ("content", "told"),
    [
        (b"", "is empty"),
        (b"hello " * 200, "is not a picture"),
        (packed(PICTURE, "PNG")[:20_000], "is broken"),
        (packed(PICTURE, "JPEG")[:20_000], "is broken"),
        (packed(PICTURE, "TIFF")[:20_000], "is broken"),
        (packed(PICTURE, "GIF"), "is a GIF file"),
        (packed(PICTURE.resize((40, 30)), "PNG"), "only 40 × 30 pixels"),
        (packed(PICTURE.resize((4000, 50)), "PNG"), "80 times as long as it is wide"),
        (packed(plain("F", 0.5), "TIFF"), r"a color mode that is not read \(F\)"),
        (b"%PDF-1.4 and then nothing", "PDF that can't be opened"),
    ],
    ids=lambda value: value if isinstance(value, str) else "",
)
def test_what_can_not_be_planned_gets_one_sentence(content: bytes, told: str) -> None:
    """The sentence says what is wrong, and another what to do."""
    with pytest.raises(BadFileError, match=told) as raised:
        opened(content)
    assert raised.value.hint


def test_a_bomb_costs_no_memory() -> None:
    """A picture that claims 60,000 × 60,000 pixels is refused before it is decoded."""
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    header = raw_png(60_000, 60_000, 2, b"")
    with pytest.raises(BadFileError, match="too large"):
        opened(header, longest=1000)
    assert resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before < 50_000


def test_a_panorama_keeps_something_of_its_height() -> None:
    """A strip eight times as long as high comes back longer than asked for, and a fifth as high."""
    picture = opened(packed(plain("RGB", (90, 90, 90), (4000, 500)), "JPEG"), longest=1000)
    assert picture.xyz.shape == (200, 1600, 3)
    assert picture.size == (4000, 500)


def test_a_large_jpeg_is_decoded_small() -> None:
    """It comes back at the size asked for, with the size of the whole told."""
    picture = opened(packed(plain("RGB", (200, 100, 50), (6400, 4800)), "JPEG"), longest=1000)
    assert picture.xyz.shape == (750, 1000, 3)
    assert picture.size == (6400, 4800)


def test_ten_thousand_square_stays_in_bounded_memory(tmp_path: Path) -> None:
    """A costly common kind, 10,000 × 10,000 with transparency, is read within 1.5 GB."""
    path = tmp_path / "large.png"
    path.write_bytes(raw_png(10_000, 10_000, 6, b"\xc8\x64\x32\x80" * 10_000))
    code = (
        "import sys\n"
        "from pathlib import Path\n"
        "from laydown.imaging.picture import open_picture\n"
        "data = Path(sys.argv[1]).read_bytes()\n"
        "print(open_picture(data, source='large', longest=1000).xyz.shape)\n"
        "status = Path('/proc/self/status').read_text()\n"
        "print(int(status.partition('VmHWM:')[2].split()[0]) // 1024)\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", code, str(path)], capture_output=True, text=True, check=True
    )
    shape, megabytes = done.stdout.splitlines()
    assert shape == "(1000, 1000, 3)"
    assert int(megabytes) < MOST_MEGABYTES
