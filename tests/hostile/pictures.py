"""The worst pictures, profiles, plans and PDFs that could be thought of: what they say, not pixels.

Run by `reading.py`, as `texts.py` is. How much decoding of honest pixels takes is measured in
``benchmarks/large_pictures.py``.
"""

import io
import itertools
import json
import struct
import zipfile
import zlib
from collections.abc import Callable, Iterable

import numpy as np
from PIL import Image

from laydown.app.notebook.trials import check_photograph
from laydown.documents.files.plans import read_plan
from laydown.errors import LaydownError
from laydown.imaging.files import open_photographs
from laydown.imaging.picture import open_picture
from laydown.imaging.profiles import read_gray_curve, read_profile

Make = Callable[[], bytes]
FULL = 50_000_000
"""Bytes of a picture that is made; nine times as many are allowed, which would be tedious here."""
SIDE = 256


def seen(data: bytes) -> object:
    """Open a picture in each way that there is; what one of them refuses goes on to the next."""
    refused: LaydownError | None = None
    for read in (
        lambda: check_photograph(data, "it"),
        lambda: list(open_photographs(data, source="it")),
        lambda: open_picture(data, source="it", longest=1000),
    ):
        try:
            read()
        except LaydownError as error:
            refused = error
    if refused:
        raise refused
    return None


def drawn(data: bytes) -> object:
    """Draw a PDF's pages; those of a picture to plan are drawn in the same way."""
    return list(open_photographs(data, source="it"))


def small(form: str, **options: object) -> bytes:
    """Return an honest picture."""
    noise = np.random.default_rng(1).integers(0, 255, (SIDE, SIDE, 3), dtype=np.uint8)
    content = io.BytesIO()
    Image.fromarray(noise).save(content, form, **options)
    return content.getvalue()


def chunk(name: bytes, content: bytes = b"") -> bytes:
    """Return a chunk of a PNG."""
    crc = zlib.crc32(name + content)
    return struct.pack(">I", len(content)) + name + content + struct.pack(">I", crc)


HIDDEN = chunk(b"tEXt", struct.pack(">II", 4, 4) + bytes(40))
"""A chunk that has the size of a small picture where that of the header usually stands."""


def png(before: bytes = b"", after: bytes = b"", first: bytes = b"") -> bytes:
    """Return a PNG with more chunks before its pixels, after them, or before its header."""
    honest = small("PNG")
    header, pixels = honest[8:33], honest[33:-12]
    return honest[:8] + first + header + before + pixels + after + honest[-12:]


def segment(marker: int, content: bytes = b"") -> bytes:
    """Return a segment of a JPEG."""
    return struct.pack(">BBH", 0xFF, marker, len(content) + 2) + content


def jpeg(more: bytes) -> bytes:
    """Return a JPEG with more segments; without its own first one, which would speak of dpi."""
    honest = small("JPEG")
    return honest[:2] + more + honest[20:]


def exif(size: int, tags: int) -> bytes:
    """Return EXIF data whose tags each point at all of it."""
    many = [struct.pack("<HHLL", 40_000 + n, 7, size - 100, 8) for n in range(tags)]
    return (b"II*\0\x08\0\0\0" + struct.pack("<H", tags) + b"".join(many)).ljust(size, b"\0")


def exif_segments(size: int, tags: int) -> bytes:
    """Return EXIF data in as many segments as it takes."""
    whole, step = exif(size, tags), 65_500
    return b"".join(
        segment(0xE1, b"Exif\0\0" + whole[at : at + step]) for at in range(0, size, step)
    )


def tiff(tags: Iterable[tuple[int, int, int, int]] = (), *, size: int = FULL) -> bytes:
    """Return a TIFF of a few pixels with more tags (number, type, count, value), and room."""
    plain = [
        (256, 3, 1, SIDE),
        (257, 3, 1, SIDE),
        (258, 3, 1, 8),
        (259, 3, 1, 1),
        (262, 3, 1, 2),
        (273, 4, 1, 4096),
        (277, 3, 1, 3),
        (278, 3, 1, SIDE),
        (279, 4, 1, 3 * SIDE * SIDE),
    ]
    given = {number: (number, *rest) for number, *rest in [*plain, *tags]}
    packed = b"".join(struct.pack("<HHLL", *given[number]) for number in sorted(given))
    head = b"II*\0\x08\0\0\0" + struct.pack("<H", len(given)) + packed + bytes(4)
    return head.ljust(max(size, 4096 + 3 * SIDE * SIDE), b"\1")


def tiff_pages(many: int) -> bytes:
    """Return a TIFF of very many pages, which all have the same pixels."""
    first = tiff(size=0)
    directory = first[8 : 8 + 2 + 12 * 9]
    page = np.dtype([("tags", "S110"), ("next", "<u4")])
    pages = np.zeros(many, page)
    pages["tags"] = directory
    pages["next"] = len(first) + page.itemsize * (1 + np.arange(many))
    return first[:118] + struct.pack("<L", len(first)) + first[122:] + pages.tobytes()


def profile(
    *, tags: Iterable[tuple[bytes, int, int]] = (), body: bytes = b"", count: int = -1
) -> bytes:
    """Return an ICC profile with a tag table that says anything."""
    table = list(tags)
    many = len(table) if count < 0 else count
    packed = b"".join(struct.pack(">4sII", *tag) for tag in table)
    content = struct.pack(">I", many) + packed + body
    size = 128 + len(content)
    head = struct.pack(">I4sI4s4s4s", size, b"lcms", 0x02400000, b"mntr", b"RGB ", b"XYZ ")
    head = head.ljust(36, b"\0") + b"acsp"
    head = head.ljust(68, b"\0") + struct.pack(">3i", 63190, 65536, 54061)
    return head.ljust(128, b"\0") + content


def profile_of(parts: dict[bytes, bytes]) -> bytes:
    """Return an ICC profile of tags."""
    at, table, body = 128 + 4 + 12 * len(parts), [], b""
    for name, content in parts.items():
        table.append((name, at + len(body), len(content)))
        body += content.ljust(-(-len(content) // 4) * 4, b"\0")
    return profile(tags=table, body=body)


def xyz_tag(*values: float) -> bytes:
    """Return a tag of XYZ."""
    return b"XYZ \0\0\0\0" + struct.pack(">3i", *(int(v * 65536) for v in values))


def curve_tag(count: int, values: bytes) -> bytes:
    """Return a tag of a curve that says to have so many entries."""
    return b"curv\0\0\0\0" + struct.pack(">I", count) + values


DESCRIPTION = b"desc\0\0\0\0" + struct.pack(">I", 5) + b"Gull\0" + bytes(79)
PRIMARIES = {
    b"desc": DESCRIPTION,
    b"wtpt": xyz_tag(0.9642, 1, 0.8249),
    b"rXYZ": xyz_tag(0.4361, 0.2225, 0.0139),
    b"gXYZ": xyz_tag(0.3851, 0.7169, 0.0971),
    b"bXYZ": xyz_tag(0.1431, 0.0606, 0.7139),
}


def curves(tag: bytes) -> bytes:
    """Return a profile of three curves."""
    return profile_of({**PRIMARIES, **{c + b"TRC": tag for c in (b"r", b"g", b"b")}})


def tables(grid: int, body: int) -> bytes:
    """Return a profile with a table of so many points a side, and some bytes of it."""
    head = b"mft2\0\0\0\0" + bytes([3, 3, grid, 0])
    head += struct.pack(">9i", 65536, 0, 0, 0, 65536, 0, 0, 0, 65536)
    head += struct.pack(">HH", 2, 2) + struct.pack(">6H", *[0, 65535] * 3)
    return profile_of({**PRIMARIES, b"A2B0": head.ljust(body, b"\x40")})


def tables_of_curves(entries: int) -> bytes:
    """Return a profile whose table has curves of so many entries."""
    head = b"mft2\0\0\0\0" + bytes([3, 3, 2, 0])
    head += struct.pack(">9i", 65536, 0, 0, 0, 65536, 0, 0, 0, 65536)
    head += struct.pack(">HH", entries, entries)
    return profile_of({**PRIMARIES, b"A2B0": head.ljust(60 + 12 * entries + 48, b"\x40")})


def all_tags(size: int) -> bytes:
    """Return a profile whose two hundred tags each are all of it."""
    names = [bytes(n) for n in itertools.islice(itertools.product(b"abcdef", repeat=4), 200)]
    made = profile(tags=[(n, 0, size) for n in [b"rXYZ", *names[1:]]], body=bytes(size))
    return struct.pack(">I", len(made)) + made[4:]


def with_profile(data: bytes) -> bytes:
    """Return a JPEG that brings a profile along."""
    return small("JPEG", icc_profile=data)


def either_profile(data: bytes) -> object:
    """Read a profile in each way that there is, and use it as pictures do."""
    open_picture(small("JPEG", icc_profile=data), source="it", longest=1000)
    if data[16:20] == b"GRAY":
        return read_gray_curve(data, source="it")
    return read_profile(data, source="it").linear(np.zeros((8, 8, 3), np.uint8))


PICTURES: dict[str, Make] = {
    "PNG, chunks before the pixels": lambda: png(before=chunk(b"prVt") * (FULL // 12)),
    "PNG, chunks after the pixels": lambda: png(after=chunk(b"prVt") * (FULL // 12)),
    "PNG, pixels in empty chunks": lambda: png(before=chunk(b"IDAT") * (FULL // 12)),
    "PNG, texts": lambda: png(before=chunk(b"tEXt", b"a\0b") * (FULL // 15)),
    "PNG, packed texts": lambda: png(
        before=chunk(b"zTXt", b"a\0\0" + zlib.compress(bytes(1_000_000))) * 3000
    ),
    "PNG, a packed profile": lambda: png(
        before=chunk(b"iCCP", b"a\0\0" + zlib.compress(bytes(FULL)))
    ),
    "PNG, EXIF that points at itself": lambda: png(before=chunk(b"eXIf", exif(15_000_000, 20_000))),
    "PNG, one huge chunk": lambda: png(before=chunk(b"prVt", bytes(FULL))),
    "PNG, a hidden size": lambda: png(
        first=HIDDEN + chunk(b"IHDR", struct.pack(">IIBBBBB", 13_000, 13_000, 16, 0, 0, 0, 0))
    ),
    "JPEG, empty segments": lambda: jpeg(segment(0xE5) * (FULL // 4)),
    "JPEG, junk": lambda: jpeg(segment(0xE5) + bytes(FULL)),
    "JPEG, padding": lambda: jpeg(b"\xff" * FULL),
    "JPEG, segments": lambda: jpeg(segment(0xE5, bytes(65_000)) * (FULL // 65_004)),
    "JPEG, EXIF in very many segments": lambda: jpeg(
        segment(0xE1, b"Exif\0\0" + bytes(65_000)) * (FULL // 65_010)
    ),
    "JPEG, EXIF that points at itself": lambda: jpeg(exif_segments(15_000_000, 20_000)),
    "JPEG, a profile in very many segments": lambda: jpeg(
        segment(0xE2, b"ICC_PROFILE\0\1\1" + bytes(65_000)) * (FULL // 65_018)
    ),
    "JPEG, tables": lambda: jpeg(segment(0xDB, bytes(65)) * (FULL // 69)),
    "JPEG, resources": lambda: jpeg(
        segment(0xED, b"Photoshop 3.0\0" + b"8BIM\0\1\0\0\0\0\0\0" * 5000) * (FULL // 60_020)
    ),
    "TIFF, tags that point at all of it": lambda: tiff(
        [(40_000 + n, 7, FULL - 8, 8) for n in range(20_000)]
    ),
    "TIFF, strips without number": lambda: tiff([(273, 4, FULL // 4 - 2000, 4096), (278, 3, 1, 1)]),
    "TIFF, bits without number": lambda: tiff([(258, 3, FULL // 2 - 4000, 4096)]),
    "TIFF, pages": lambda: tiff_pages(FULL // 114),
    "TIFF, a profile of all of it": lambda: tiff([(34675, 7, FULL - 4096, 4096)]),
    "TIFF, a directory that is its own next": lambda: tiff_pages(1)[:-4] + struct.pack("<L", 8),
}

PROFILES: dict[str, Make] = {
    "a table of two hundred tags": lambda: all_tags(10_000_000),
    "a table of countless tags": lambda: profile(count=2**32 - 1, body=bytes(1_000_000)),
    "curves of countless entries": lambda: curves(curve_tag(2**32 - 1, bytes(1000))),
    "curves of many entries": lambda: curves(curve_tag(65_536, bytes(131_072))),
    "curves without steps": lambda: curves(
        b"para\0\0\0\0" + struct.pack(">HH4i", 1, 0, 0, 0, 0, 0)
    ),
    "steep curves": lambda: curves(
        b"para\0\0\0\0" + struct.pack(">HH", 4, 0) + struct.pack(">i", 2**31 - 1) * 7
    ),
    "a table of 255 points a side": lambda: tables(255, 10_000_000),
    "a whole table of 100 points a side": lambda: tables(100, 6_100_000),
    "a table with long curves": lambda: tables_of_curves(4096),
    "a table with endless curves": lambda: tables_of_curves(65_535),
    "a name of millions of signs": lambda: profile_of(
        {
            **PRIMARIES,
            b"desc": b"desc\0\0\0\0"
            + struct.pack(">I", 10_000_000)
            + b"a" * 10_000_000
            + bytes(79),
        }
    ),
    "a name in millions of languages": lambda: profile_of(
        {
            **PRIMARIES,
            b"desc": b"mluc\0\0\0\0"
            + struct.pack(">II", 800_000, 12)
            + struct.pack(">4sII", b"enUS", 2, 28) * 800_000,
        }
    ),
}


def plan(
    told: bytes, regions: bytes = b"", picture: bytes = b"", *, how: int = zipfile.ZIP_DEFLATED
) -> bytes:
    """Return a plan of three parts."""
    content = io.BytesIO()
    with zipfile.ZipFile(content, "w") as archive:
        archive.writestr("plan.json", told, how)
        archive.writestr("regions.png", regions, how)
        archive.writestr("picture.png", picture, how)
    return content.getvalue()


def flat(width: int, height: int) -> bytes:
    """Return a PNG of one gray in 16 bits."""
    packer = zlib.compressobj(9)
    row = b"\0" + b"\0\1" * width
    rows = b"".join(packer.compress(row) for _ in range(height))
    header = struct.pack(">IIBBBBB", width, height, 16, 0, 0, 0, 0)
    return (
        b"\x89PNG\r\n\x1a\n"
        + chunk(b"IHDR", header)
        + chunk(b"IDAT", rows + packer.flush())
        + chunk(b"IEND")
    )


def told_plan(regions: int, **changed: object) -> bytes:
    """Return the description of a plan."""
    told = {
        "form": "laydown picture plan 1",
        "title": "T",
        "steps": 2,
        "even": True,
        "colors": None,
        "width": 200.0,
        "least": 1.0,
        "tip": 1.0,
        "boundaries": [5.0],
        "levels": [3.0, 7.0],
        "regions": [
            {"number": n, "color": n, "step": 0, "lab": [50, 0, 0], "passage": "", "role": ""}
            for n in range(1, regions + 1)
        ],
        "notes": [],
    }
    return json.dumps(told | changed).encode()


def packed_hard(size: int) -> bytes:
    """Return a plan one part of which is packed by the densest way that archives know."""
    content = io.BytesIO()
    with zipfile.ZipFile(content, "w") as archive:
        archive.writestr("plan.json", b"{}", zipfile.ZIP_STORED)
        archive.writestr("picture.png", b"", zipfile.ZIP_STORED)
        with archive.open(zipped("regions.png", zipfile.ZIP_BZIP2), "w") as part:
            for _ in range(size // 1_000_000):
                part.write(bytes(1_000_000))
    return content.getvalue()


def zipped(name: str, how: int) -> zipfile.ZipInfo:
    """Return the entry of a part."""
    told = zipfile.ZipInfo(name)
    told.compress_type = how
    return told


def many_entries() -> bytes:
    """Return an archive whose directory has a million entries more than it has parts."""
    honest = plan(b"{}", how=zipfile.ZIP_STORED)
    start = honest.index(b"PK\x01\x02")
    entry = honest[start : start + 46 + 9]
    directory = entry * 1_000_000
    end = b"PK\x05\x06" + struct.pack("<HHHHIIH", 0, 0, 3, 3, len(directory), start, 0)
    return honest[:start] + directory + end


def hidden_size() -> bytes:
    """Return a plan whose pictures are far larger than where their size usually stands."""
    large = flat(13_000, 13_000)
    shown = large[:8] + HIDDEN + large[8:]
    return plan(told_plan(1), shown, flat(4, 12), how=zipfile.ZIP_STORED)


PLANS: dict[str, Make] = {
    "as large as is read": lambda: plan(
        told_plan(1), flat(2000, 2000), flat(2000, 6000), how=zipfile.ZIP_STORED
    ),
    "larger than is read": lambda: plan(
        told_plan(1), flat(4000, 3000), flat(4000, 9000), how=zipfile.ZIP_STORED
    ),
    "a hidden size": hidden_size,
    "packed by blocks": lambda: packed_hard(600_000_000),
    "a directory of a million entries": many_entries,
    "nested lists": lambda: plan(b"[" * 3_900_000),
    "lists": lambda: plan(b"[" + b"[]," * 1_300_000 + b"[]]"),
    "objects": lambda: plan(b"[" + b'{"a":1},' * 480_000 + b"{}]"),
    "one long number": lambda: plan(b"9" * 3_900_000),
    "many regions": lambda: plan(told_plan(20_000), flat(4, 4), flat(4, 12)),
    "many boundaries": lambda: plan(
        told_plan(1, boundaries=[5] * 500_000, levels=[5] * 500_001), flat(4, 4), flat(4, 12)
    ),
    "many notes": lambda: plan(told_plan(1, notes=[""] * 900_000), flat(4, 4), flat(4, 12)),
    "many chunks": lambda: plan(
        told_plan(1),
        flat(4, 4)[:33] + chunk(b"prVt") * 6_000_000,
        flat(4, 12),
        how=zipfile.ZIP_STORED,
    ),
    "a part that is a bomb": lambda: plan(told_plan(1), bytes(200_000_000), flat(4, 12)),
}


def pdf(*objects: bytes) -> bytes:
    """Return a PDF of objects, the first of which is its root."""
    parts, places, at = [b"%PDF-1.7\n"], [], 9
    for number, content in enumerate(objects, 1):
        places.append(at)
        parts.append(b"%d 0 obj\n%b\nendobj\n" % (number, content))
        at += len(parts[-1])
    size = len(objects) + 1
    parts.append(b"xref\n0 %d\n0000000000 65535 f \n" % size)
    parts += [b"%010d 00000 n \n" % place for place in places]
    parts.append(b"trailer\n<< /Size %d /Root 1 0 R >>\nstartxref\n%d\n%%%%EOF\n" % (size, at))
    return b"".join(parts)


def stream(content: bytes, said: bytes = b"") -> bytes:
    """Return a packed stream."""
    packed = zlib.compress(content, 9)
    head = b"<< %b /Filter /FlateDecode /Length %d >>" % (said, len(packed))
    return head + b"\nstream\n" + packed + b"\nendstream"


def page(
    content: bytes,
    *more: bytes,
    resources: bytes = b"",
    box: bytes = b"0 0 595 842",
    count: int = 1,
) -> bytes:
    """Return a PDF of one page, and objects from number 5 on."""
    return pdf(
        b"<< /Type /Catalog /Pages 2 0 R >>",
        b"<< /Type /Pages /Kids [3 0 R] /Count %d >>" % count,
        b"<< /Type /Page /Parent 2 0 R /MediaBox [%b] /Resources << %b >> /Contents 4 0 R >>"
        % (box, resources),
        stream(content),
        *more,
    )


def form(drawn: int, content: bytes = b"/F Do") -> bytes:
    """Return a form that draws another one, which it knows as F."""
    said = b"/Type /XObject /Subtype /Form /BBox [0 0 595 842] "
    return stream(content, said + b"/Resources << /XObject << /F %d 0 R >> >>" % drawn)


def pictured(content: bytes, side: int, bits: int) -> bytes:
    """Return a PDF with a square gray picture, which its page draws as I."""
    said = b"/Type /XObject /Subtype /Image /Width %d /Height %d " % (side, side)
    said += b"/ColorSpace /DeviceGray /BitsPerComponent %d" % bits
    pixels = stream(bytes(side * side * bits // 8), said)
    return page(content, pixels, resources=b"/XObject << /I 5 0 R >>")


WHOLE = b"600 0 0 800 0 0 cm "
PDFS: dict[str, Make] = {
    "a million pages": lambda: page(b"", count=1_000_000),
    "pages in pages": lambda: pdf(
        b"<< /Type /Catalog /Pages 2 0 R >>",
        *(b"<< /Type /Pages /Kids [%d 0 R] /Count 1 >>" % (n + 3) for n in range(20_000)),
    ),
    "a page of square kilometers": lambda: page(b"", box=b"0 0 1000000000 1000000000"),
    "a page as large as is drawn": lambda: page(b"", box=b"0 0 1100 2000"),
    "a picture of 60,000 pixels a side": lambda: pictured(WHOLE + b"/I Do", 60_000, 1),
    "a picture ten thousand times": lambda: pictured(WHOLE + b"/I Do " * 10_000, 3_000, 8),
    "content of 200 MB": lambda: page(b"0 0 m 9 9 l S\n" * 14_000_000),
    "a million strokes": lambda: page(b"0 0 m 600 800 l S\n" * 1_000_000),
    "a hundred thousand fills": lambda: page(b"0 0 600 850 re f\n" * 100_000),
    "brackets in brackets": lambda: page(b"[" * 20_000_000),
    "lists in lists": lambda: pdf(
        b"<< /Type /Catalog /Pages 2 0 R /Lists " + b"[" * 20_000_000 + b" >>",
        b"<< /Type /Pages /Kids [] /Count 0 >>",
    ),
    "forms in forms": lambda: page(
        b"/F Do", *map(form, range(6, 100_006)), resources=b"/XObject << /F 5 0 R >>"
    ),
    "a form that draws itself": lambda: page(
        b"/F Do", form(5), resources=b"/XObject << /F 5 0 R >>"
    ),
    "two million paths": lambda: page(b"1 1 m 500 800 l S\n" * 2_000_000),
    "forms that each draw ten": lambda: page(
        b"/F Do",
        *(form(n, b"/F Do " * 10) for n in range(6, 30)),
        resources=b"/XObject << /F 5 0 R >>",
    ),
    "objects without number": lambda: b"%PDF-1.7\n" + b"1 0 obj\n" * 12_000_000,
    "streams without number": lambda: b"%PDF-1.7\n" + b"stream\nendstream\n" * 5_500_000,
    "numbers": lambda: b"%PDF-1.7\n" + b"1 " * 49_000_000,
}

KINDS: dict[str, tuple[Callable[[bytes], object], dict[str, Make]]] = {
    "pictures": (seen, PICTURES),
    "profiles": (either_profile, PROFILES),
    "pdf": (drawn, PDFS),
    "plans": (lambda data: read_plan(data, source="it"), PLANS),
}
