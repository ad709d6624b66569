"""Files that are no pictures, broken ones, and hostile ones."""

import io
import resource
import struct
import sys
import zlib
from collections.abc import Callable

import numpy as np
import pytest
from PIL import Image, TiffImagePlugin

from laydown.errors import BadFileError
from laydown.imaging.files import Photograph, open_photographs

PICTURE = Image.fromarray(np.random.default_rng(0).integers(0, 255, (300, 400, 3), dtype=np.uint8))

UP_TO_NINE = b"Exif\0\0MM\0*\0\0\0\x08\0\x01\x01\x12\0\x03\0\0\0\x01\0\x09\0\0\0\0\0\0"
"""A note that the camera was held in the ninth of eight ways."""


def packed(image: Image.Image, form: str, **options: object) -> bytes:
    """Return an image as a file."""
    content = io.BytesIO()
    image.save(content, form, **options)
    return content.getvalue()


def chunk(kind: bytes, data: bytes) -> bytes:
    """Return a chunk of a PNG file."""
    return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))


def raw_png(width: int, height: int, depth: int, data: bytes) -> bytes:
    """Return a PNG in red, green and blue whose header claims a size."""
    header = struct.pack(">IIBBBBB", width, height, depth, 2, 0, 0, 0)
    parts = [chunk(b"IHDR", header), chunk(b"IDAT", zlib.compress(data)), chunk(b"IEND", b"")]
    return b"\x89PNG\r\n\x1a\n" + b"".join(parts)


def opened(content: bytes) -> Photograph:
    """Return the first picture of a file."""
    return next(open_photographs(content, source="file"))


@pytest.mark.parametrize(
    ("content", "told"),
    [
        (b"", "is empty"),
        (b"hello " * 200, "is not a picture"),
        (packed(PICTURE, "PNG")[:20_000], "is broken"),
        (packed(PICTURE, "JPEG")[:20_000], "is broken"),
        (packed(PICTURE, "TIFF")[:20_000], "is broken"),
        (packed(PICTURE.convert("CMYK"), "JPEG"), "printing inks"),
        (packed(PICTURE.convert("CMYK"), "TIFF"), "printing inks"),
        (packed(PICTURE.convert("L"), "PNG"), "gray"),
        (packed(Image.fromarray(np.zeros((300, 300), np.uint16)), "PNG"), "gray"),
        (packed(PICTURE.resize((90, 60)), "PNG"), "only 90 × 60 pixels"),
        (packed(PICTURE.convert("P"), "GIF"), "is a GIF file"),
        (raw_png(60_000, 60_000, 8, b"\0" * 1000), "too large"),
        (raw_png(12_000, 12_000, 8, b"\0" * 1000), "too large"),
        (b"%PDF-1.4 and then nothing", "PDF that can't be opened"),
    ],
    ids=lambda value: value if isinstance(value, str) else "",
)
def test_what_is_no_good_picture_gets_one_sentence(content: bytes, told: str) -> None:
    """The sentence says what is wrong, and another what to do."""
    with pytest.raises(BadFileError, match=told) as raised:
        opened(content)
    assert raised.value.hint


def test_a_bomb_costs_no_memory() -> None:
    """A picture that claims 60,000 × 60,000 pixels is refused before it is decoded."""
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    with pytest.raises(BadFileError, match="too large"):
        opened(raw_png(60_000, 60_000, 8, b"\0" * 1_000_000))
    assert resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before < 50_000


@pytest.mark.parametrize("form", ["PNG", "TIFF"])
@pytest.mark.parametrize("mode", ["RGB", "RGBA", "P"])
def test_pictures_in_other_modes_are_converted_and_it_is_said(form: str, mode: str) -> None:
    """A palette or an alpha channel does no harm."""
    photograph = opened(packed(PICTURE.convert(mode), form))
    assert photograph.pixels.shape == (300, 400, 3)
    assert bool(photograph.notes) == (mode != "RGB")


def test_sixteen_bits_are_read_as_eight() -> None:
    """A scan in 16 bits a channel keeps its upper 8."""
    row = b"\0" + b"\x80\x10" * 900
    photograph = opened(raw_png(300, 300, 16, row * 300))
    assert (photograph.pixels == 128).all()


def test_a_page_of_a_pdf_is_drawn() -> None:
    """A scan inside a PDF is read at 300 dpi."""
    (photograph,) = open_photographs(packed(PICTURE, "PDF"), source="file")
    assert photograph.source == "file, page 1"
    assert photograph.pixels.shape[:2] == (1250, 1667)


def test_each_page_of_a_tiff_is_a_picture() -> None:
    """Several scans in one file are read one after the other."""
    content = packed(PICTURE, "TIFF", save_all=True, append_images=[PICTURE, PICTURE])
    assert [p.source for p in open_photographs(content, source="file")] == [
        f"file, page {page}" for page in (1, 2, 3)
    ]


def test_heic_is_read() -> None:
    """What phones save by themselves is read where the extra is installed."""
    heif = pytest.importorskip("pillow_heif")
    heif.register_heif_opener()
    content = packed(PICTURE, "HEIF")
    assert opened(content).pixels.shape == (300, 400, 3)
    with pytest.raises(BadFileError):
        opened(content[:2000])


def test_the_extra_that_reads_heic_is_named_where_it_is_missed(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Without it, the sentence says what the photograph is and what to install."""
    monkeypatch.setitem(sys.modules, "pillow_heif", None)
    with pytest.raises(BadFileError, match=r"is HEIC: .* extra “heif”") as trouble:
        opened(b"\x00\x00\x00\x18ftypheic" + bytes(100))
    assert trouble.value.command == 'pip install "laydown[heif]"'


@pytest.mark.parametrize("form", ["JPEG", "MPO", "TIFF", "PNG", "HEIF"])
@pytest.mark.parametrize("orientation", range(1, 9))
def test_a_photograph_comes_upright(
    as_held: Callable[[Image.Image, int, str], bytes], orientation: int, form: str
) -> None:
    """However the camera was held, each corner ends up where it was seen, and it is said."""
    if form == "HEIF":
        pytest.importorskip("pillow_heif").register_heif_opener()
    seen = Image.new("RGB", (320, 240), (240, 240, 240))
    seen.paste((20, 20, 20), (0, 0, 80, 80))
    seen.paste((200, 30, 30), (240, 0, 320, 80))
    photograph = opened(as_held(seen, orientation, form))
    assert photograph.pixels.shape == (240, 320, 3)
    assert photograph.pixels.flags.c_contiguous
    off = np.abs(photograph.pixels.astype(int) - np.asarray(seen))
    assert np.median(off[:70, :70]) < 4
    assert np.median(off[:70, 250:]) < 4
    assert np.median(off) < 4
    if form not in ("TIFF", "HEIF"):  # what decodes those turns them, and tells nobody
        assert any("upright" in note for note in photograph.notes) == (orientation > 1)


def test_each_page_of_a_tiff_is_turned_as_it_says() -> None:
    """A scan that lies on its side in a file of several is turned, and the others are not."""
    content, turned = io.BytesIO(), TiffImagePlugin.ImageFileDirectory_v2()
    turned[0x0112] = 6
    with TiffImagePlugin.AppendingTiffWriter(content, new=True) as pages:
        for tags in ({}, turned, {}):
            PICTURE.save(pages, "TIFF", tiffinfo=tags)
            pages.newFrame()
    shapes = [p.pixels.shape[:2] for p in open_photographs(content.getvalue(), source="file")]
    assert shapes == [(300, 400), (400, 300), (300, 400)]


@pytest.mark.parametrize("form", ["JPEG", "PNG"])
@pytest.mark.parametrize(
    "noted", [UP_TO_NINE, b"Exif\0\0nothing of the kind", b"Exif\0\0MM\0*\xff\xff\xff\xff"]
)
def test_a_camera_that_notes_nonsense_is_not_believed(noted: bytes, form: str) -> None:
    """A picture whose note of how it was held is none of eight, or broken, stays as it is."""
    photograph = opened(packed(PICTURE, form, exif=noted))
    assert photograph.pixels.shape == (300, 400, 3)
    assert photograph.notes == ()


def test_a_large_jpeg_is_opened_at_half_its_size() -> None:
    """More pixels than any cell needs cost no time and no memory."""
    photograph = opened(packed(Image.new("RGB", (6400, 4800), (200, 100, 50)), "JPEG"))
    assert photograph.pixels.shape == (2400, 3200, 3)
    assert "half" in photograph.notes[0]


def test_where_a_photograph_was_taken_is_not_kept() -> None:
    """Of the description of a picture only its color profile is taken over."""
    exif = Image.Exif()
    exif[0x8825] = {1: "N", 2: (59.0, 1.0, 2.0)}
    exif[0x010F] = "Somebody"
    photograph = opened(packed(PICTURE, "JPEG", exif=exif))
    assert photograph.profile == b""
    kept = (photograph.source, photograph.notes)
    assert "59" not in str(kept)
    assert "Somebody" not in str(kept)


def parted(picture: bytes, odd: bytes) -> bytes:
    """Return a PNG with something between its header and its pixels."""
    return picture[:33] + odd + picture[33:]


@pytest.mark.parametrize(
    ("content", "told"),
    [
        (parted(packed(PICTURE, "PNG"), chunk(b"prVt", b"") * 12_000), "says more about"),
        (parted(packed(PICTURE, "PNG"), chunk(b"prVt", bytes(17_000_000))), "says more about"),
        (parted(packed(PICTURE, "PNG"), chunk(b"IDAT", b"") * 260_000), "says more about"),
        (b"\xff\xd8" + b"\xff\xe5\0\2" * 20_000 + packed(PICTURE, "JPEG")[2:], "says more about"),
    ],
    ids=["parts", "one part", "pieces of pixels", "segments"],
)
def test_a_picture_that_says_too_much_of_itself_is_refused(content: bytes, told: str) -> None:
    """What stands before the pixels is counted, by bytes and by parts, and so are the pieces."""
    with pytest.raises(BadFileError, match=told):
        opened(content)


@pytest.mark.parametrize(("many", "size"), [(5_000, 0), (1, 15_000_000)])
def test_a_picture_may_say_much_of_itself(many: int, size: int) -> None:
    """Thousands of notes, or one of megabytes, are passed over."""
    odd = chunk(b"prVt", bytes(size)) * many
    assert opened(parted(packed(PICTURE, "PNG"), odd)).pixels.shape == (300, 400, 3)
