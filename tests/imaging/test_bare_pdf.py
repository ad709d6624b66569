"""What a scanner's program writes into a PDF beside its pages is taken out, and nothing else."""

import io
import struct
import zlib
from collections.abc import Callable

import numpy as np
import pytest
from PIL import Image

from laydown.bare_picture import bare
from laydown.imaging.files import open_photographs

SECRETS = (b"Ada Okonkwo", b"Harbour Street", b"2031", "Ada".encode("utf-16-be").hex().encode())
XMP = b'<?xpacket begin=""?><x:xmpmeta>Ada Okonkwo, Harbour Street</x:xmpmeta><?xpacket end="w"?>'
INFORMATION = (
    b"<< /Author (Ada Okonkwo \\(at) /Title (Harbour (Street) 2031) /CreationDate (D:20310709) "
    b"/Subject <" + "Ada".encode("utf-16-be").hex().encode() + b"> /Producer 9 0 R >>"
)
PRODUCER = b"(endless \\(endobj\\) Ada Okonkwo)"
PAGES = (
    b"<< /Type /Catalog /Pages 2 0 R /Metadata 6 0 R >>",
    b"<< /Type /Pages /Kids [3 0 R] /Count 1 >>",
    b"<< /Type /Page /Parent 2 0 R /MediaBox [0 0 72 72] /Contents 4 0 R /Resources 12 0 R >>",
)


def stream(said: bytes, content: bytes) -> bytes:
    """Return a stream with what its dictionary says."""
    return b"<< %b /Length %d >>\nstream\n%b\nendstream" % (said, len(content), content)


def photograph() -> bytes:
    """Return a JPEG with all that a camera notes."""
    exif = Image.Exif()
    exif[0x013B], exif[0x0132] = "Ada Okonkwo", "2031:07:09 10:11:12"
    noise = np.random.default_rng(4).integers(0, 255, (60, 90, 3), np.uint8)
    file = io.BytesIO()
    Image.fromarray(noise).save(file, "JPEG", exif=exif, comment=b"Harbour Street", quality=92)
    return file.getvalue()


def parts() -> dict[int, bytes]:
    """Return the objects of a page with a photograph that lie in the file as they are."""
    size = b"/Width 90 /Height 60 /ColorSpace /DeviceRGB /BitsPerComponent 8"
    return {
        12: b"<< /XObject << /P 5 0 R >> >>",
        4: stream(b"", b"72 0 0 72 0 0 cm /P Do"),
        5: stream(b"/Subtype /Image /Filter /DCTDecode /Metadata 7 0 R " + size, photograph()),
        6: stream(b"/Type /Metadata /Subtype /XML", XMP),
        7: stream(b"/Type /Metadata /Subtype /XML /Filter /FlateDecode", zlib.compress(XMP)),
    }


def written(objects: dict[int, bytes]) -> tuple[bytes, dict[int, int]]:
    """Return the beginning of a PDF, and where each object of it lies."""
    content, places = b"%PDF-1.5\n", {}
    for number, told in objects.items():
        places[number] = len(content)
        content += b"%d 0 obj\n%b\nendobj\n" % (number, told)
    return content, places


def plain_pdf() -> bytes:
    """Return a PDF whose objects all lie in it as they are."""
    objects = {**dict(enumerate(PAGES, 1)), **parts(), 8: INFORMATION, 9: PRODUCER}
    content, places = written(objects)
    table = b"".join(b"%010d 00000 n \n" % places.get(number, 0) for number in range(1, 13))
    end = b"trailer << /Size 13 /Root 1 0 R /Info 8 0 R >>\nstartxref\n%d\n%%%%EOF" % len(content)
    return content + b"xref\n0 13\n0000000000 65535 f \n" + table + end


def packed_pdf() -> bytes:
    """Return a PDF that packs most objects into one stream, as newer programs do."""
    inner = {**dict(enumerate(PAGES, 1)), 8: INFORMATION, 9: PRODUCER}
    heads, body = b"", b""
    for number, told in inner.items():
        heads += b"%d %d " % (number, len(body))
        body += told + b"\n"
    said = b"/Type /ObjStm /N %d /First %d /Filter /FlateDecode" % (len(inner), len(heads))
    objects = {**parts(), 10: stream(said, zlib.compress(heads + body, 9))}
    content, places = written(objects)
    rows = [(0, 0, 65535)]
    for number in range(1, 13):
        packed = number in inner
        place = list(inner).index(number) if packed else 0
        rows.append((2, 10, place) if packed else (1, places.get(number, len(content)), 0))
    said = b"/Type /XRef /Size 13 /W [1 4 2] /Root 1 0 R /Info 8 0 R"
    table = b"".join(struct.pack(">BIH", *row) for row in rows)
    end = b"\nstartxref\n%d\n%%%%EOF" % len(content)
    return content + b"11 0 obj\n" + stream(said, table) + b"\nendobj" + end


FORMS = (plain_pdf, packed_pdf)


def unpacked(file: bytes) -> bytes:
    """Return a file with all that can be unpacked of it."""
    told = file
    for piece in file.split(b"stream\n"):
        if piece[:1] == b"x":
            told += zlib.decompressobj().decompress(piece)
    return told


@pytest.mark.parametrize("form", FORMS)
def test_nothing_is_left_of_place_owner_and_time(form: Callable[[], bytes]) -> None:
    """Author, title, dates, metadata and the camera's notes are gone; the page is as it was."""
    sent = form()
    assert all(secret in unpacked(sent) for secret in SECRETS)
    kept = bare(sent)
    assert not [secret for secret in SECRETS if secret in unpacked(kept)]
    assert len(kept) == len(sent)
    (before,), (after,) = (list(open_photographs(file, source="it")) for file in (sent, kept))
    assert before.pixels.std() > 20
    assert (before.pixels == after.pixels).all()


@pytest.mark.parametrize("form", FORMS)
def test_done_twice_it_comes_to_the_same(form: Callable[[], bytes]) -> None:
    """What is bare already comes back bit for bit."""
    kept = bare(form())
    assert bare(kept) == kept


@pytest.mark.parametrize(
    "piece",
    [
        b"stream\n",
        b"(",
        b"8 0 obj (",
        b"/Info 8 0 R ",
        b"1111111111",
        b"<< /Type /ObjStm /First 9 >> stream\n" + zlib.compress(bytes(9000)) + b"endstream ",
    ],
)
def test_a_file_of_nothing_but_beginnings_is_gone_through_once(piece: bytes) -> None:
    """Five million bytes of parts that end nowhere come back at once, and as long as they were."""
    sent = b"%PDF-1.5\n/Info 8 0 R 8 0 obj << (" + piece * (5_000_000 // len(piece))
    assert len(bare(sent)) == len(sent)
