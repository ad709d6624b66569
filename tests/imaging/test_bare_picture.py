"""What a camera writes beside the pixels is taken out of a file, and nothing else."""

import io
from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image, ImageCms
from PIL.PngImagePlugin import PngInfo
from PIL.TiffImagePlugin import ImageFileDirectory_v2

from laydown.bare_picture import bare
from laydown.imaging.files import open_photographs, orientation_of

SECRETS = (b"Ada Okonkwo", b"2031:07:09", b"Harbour Street", b"Pinhole Nine")
"""Owner, day, a place in words, and the camera: none may be left."""
PLACE = (54.0, 19.0, 27.25)
PROFILE = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
XMP = (
    b'<?xpacket begin=""?><x:xmpmeta xmlns:x="adobe:ns:meta/"><photoshop:City>Harbour Street'
    b"</photoshop:City></x:xmpmeta><?xpacket end='w'?>"
)


def pixels(height: int = 60, width: int = 90) -> Image.Image:
    """Return a picture of noise, which tells any change."""
    noise = np.random.default_rng(4).integers(0, 255, (height, width, 3), np.uint8)
    return Image.fromarray(noise)


def told(orientation: int = 1) -> Image.Exif:
    """Return what a phone notes."""
    exif = Image.Exif()
    exif[0x0112], exif[0x013B], exif[0x0132] = orientation, "Ada Okonkwo", "2031:07:09 10:11:12"
    exif[0x0110] = "Pinhole Nine"
    exif.get_ifd(0x8769)[0x9003] = "2031:07:09 10:11:12"
    exif.get_ifd(0x8769)[0x927C] = b"Harbour Street, by Pinhole Nine"
    exif.get_ifd(0x8825)[2] = PLACE
    return exif


def _jpeg(orientation: int) -> bytes:
    file = io.BytesIO()
    pixels().save(
        file, "JPEG", exif=told(orientation), icc_profile=PROFILE, xmp=XMP,
        comment=b"Harbour Street", progressive=True, quality=92, dpi=(300, 300),
    )  # fmt: skip
    return file.getvalue() + b"Ada Okonkwo"


def _two_in_one(orientation: int) -> bytes:
    file = io.BytesIO()
    other = pixels(30, 40)
    other.encoderinfo = {"exif": told(orientation)}
    pixels().save(
        file, "MPO", save_all=True, append_images=[other], exif=told(orientation),
        icc_profile=PROFILE,
    )  # fmt: skip
    return file.getvalue()


def _png(orientation: int) -> bytes:
    said = PngInfo()
    said.add_text("Author", "Ada Okonkwo")
    said.add_itxt("Place", "Harbour Street")
    file = io.BytesIO()
    pixels().save(file, "PNG", exif=told(orientation), icc_profile=PROFILE, pnginfo=said)
    return file.getvalue() + b"Ada Okonkwo"


def _tiff(orientation: int, **said: object) -> bytes:
    pages = [pixels(60, 90), pixels(200, 210)]
    pages[1].encoderinfo = {"tiffinfo": _tags(orientation)}  # what writes it misplaces a second GPS
    tags = _tags(orientation)
    tags[34853] = {2: PLACE}
    file = io.BytesIO()
    pages[0].save(
        file, "TIFF", save_all=True, append_images=pages[1:], tiffinfo=tags, icc_profile=PROFILE,
        **said,
    )  # fmt: skip
    return file.getvalue()


def _tags(orientation: int) -> ImageFileDirectory_v2:
    tags = ImageFileDirectory_v2()
    tags[315], tags[306], tags[270] = "Ada Okonkwo", "2031:07:09 10:11:12", "Harbour Street"
    tags[272], tags[274] = "Pinhole Nine", orientation
    return tags


def _big_tiff(orientation: int) -> bytes:
    return _tiff(orientation, big_tiff=True)


def _heic(orientation: int) -> bytes:
    heif = pytest.importorskip("pillow_heif")
    heif.register_heif_opener()
    file = io.BytesIO()
    pixels().save(file, "HEIF", exif=told(orientation).tobytes(), icc_profile=PROFILE, xmp=XMP)
    return file.getvalue()


FORMS = (_jpeg, _two_in_one, _png, _tiff, _big_tiff, _heic)


def _places(file: bytes) -> bool:
    """Return whether the degrees, minutes and seconds of the place are still written in it."""
    return any(np.array([54, 1, 19, 1, 109, 4], f"{o}u4").tobytes() in file for o in "<>")


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize("orientation", [1, 6])
def test_nothing_is_left_of_place_owner_and_time(
    form: Callable[[int], bytes], orientation: int
) -> None:
    """Of what a phone notes nothing can be found; pixels, profile and which way is up stay."""
    sent = form(orientation)
    assert any(secret in sent for secret in SECRETS)
    assert _places(sent) or form is _png
    kept = bare(sent)
    assert not [secret for secret in SECRETS if secret in kept]
    assert not _places(kept)
    before, after = Image.open(io.BytesIO(sent)), Image.open(io.BytesIO(kept))
    assert after.info["icc_profile"] == before.info["icc_profile"] == PROFILE
    assert (np.asarray(after) == np.asarray(before)).all()
    assert orientation_of(after) == orientation_of(before)
    assert set(dict(after.getexif())) - {274, 34675} <= set(range(254, 345)) - {
        270,
        271,
        272,
        306,
        315,
    }


@pytest.mark.parametrize("form", FORMS)
def test_done_twice_it_comes_to_the_same(form: Callable[[int], bytes]) -> None:
    """What is bare already stays the same file, so that it is kept once."""
    once = bare(form(8))
    assert bare(once) == once


@pytest.mark.parametrize("page", [0, 1])
def test_every_page_of_a_scan_stays(page: int) -> None:
    """A file of several pages has the same pages, and all are bare."""
    sent = _tiff(1)
    kept = bare(sent)
    before, after = Image.open(io.BytesIO(sent)), Image.open(io.BytesIO(kept))
    for image in (before, after):
        image.seek(page)
    assert (np.asarray(after) == np.asarray(before)).all()


def test_which_way_is_up_is_kept_from_a_packet_too() -> None:
    """Where a picture says only in XMP how it was held, it still lies the same way."""
    file = io.BytesIO()
    pixels().save(file, "JPEG", xmp=b'<x:xmpmeta><a tiff:Orientation="6"/></x:xmpmeta>')
    assert orientation_of(Image.open(io.BytesIO(file.getvalue()))) == 6
    assert orientation_of(Image.open(io.BytesIO(bare(file.getvalue())))) == 6


def test_a_photograph_is_read_the_same() -> None:
    """What is measured of a picture doesn't change by a bit."""
    file = io.BytesIO()
    pixels(300, 400).save(file, "JPEG", exif=told(6), icc_profile=PROFILE)
    (before,) = open_photographs(file.getvalue(), source="a.jpg")
    (after,) = open_photographs(bare(file.getvalue()), source="a.jpg")
    assert (before.pixels == after.pixels).all()
    assert (before.profile, before.notes) == (after.profile, after.notes)


@given(
    st.sampled_from(
        [b"\xff\xd8", b"\x89PNG\r\n\x1a\n", b"II*\x00", b"MM\x00+", b"\x00\x00\x00\x18ftyp"]
    ),
    st.binary(max_size=300),
)
def test_what_is_broken_is_left_to_whoever_opens_it(head: bytes, rest: bytes) -> None:
    """Any bytes come to an end, and bare twice is bare once."""
    once = bare(head + rest)
    assert len(once) <= len(head + rest) + 50


def test_packets_that_end_nowhere_are_gone_through_once() -> None:
    """A HEIC of half a million packets without an end is no work for hours."""
    sent = b"\x00\x00\x00\x18ftypheic" + b"<x:xmpmeta" * 500_000
    assert bare(sent) == sent


def test_what_is_no_picture_stays() -> None:
    """A file of another form comes back as it is."""
    assert bare(b"range,color,Ada Okonkwo") == b"range,color,Ada Okonkwo"
