"""A picture or a scanned PDF without what it says of place, owner and time; pixels as they were.

Cameras write into a file where and when a picture was taken, with what, and by whom. What is
handed on with a notebook or a backup should not tell that. So all a file says of itself is taken
out of it but what its pixels need to be seen right: how they are packed, their color profile, and
which way is up. Nothing is decoded, so this loses nothing and comes to the same when done twice.

Every part of a PDF is found by where it lies, so nothing is moved: what is told is blanked in its
place. That is the information dictionary (title, author, program, dates), the metadata of the file
and of each thing in it, and what cameras wrote into the photographs that it holds as JPEG. A PDF
that is encrypted keeps what is hidden in it, and so does one that packs its parts in unusual ways.

References
----------
ITU-T T.81 (JPEG), annex B; PNG, third edition, 5; TIFF 6.0, section 2, and BigTIFF; EXIF 2.32,
4.5 and 4.6; ISO 23008-12 (HEIF), annex A. ISO 32000-1, 7.3.4 (strings), 7.5.7 (object streams),
14.3.2 (metadata) and 14.3.3 (information).
"""

import re
import struct
import zlib
from collections.abc import Callable, Iterator, Sequence
from itertools import islice
from typing import Literal

INFORMATION = re.compile(rb"/Info\s{0,9}(\d{1,10})\s{1,9}\d{1,5}\s{1,9}R")
REFERENCE = re.compile(rb"(\d{1,10})\s{1,9}\d{1,5}\s{1,9}R\b")
STREAM = re.compile(rb"(?<!end)stream\r?\n")
METADATA = re.compile(rb"/Type\s*/Metadata\b")
OBJECTS = re.compile(rb"/Type\s*/ObjStm\b")
FIRST = re.compile(rb"/First\s+(\d{1,9})")
TOKEN = re.compile(rb"endobj|<<|<[0-9A-Fa-f\s]*>|\(")
IN_STRING = re.compile(rb"\\.|[()]", re.DOTALL)
LONGEST_HEAD, LONGEST = 2000, 100_000
"""Bytes that are read of the dictionary before a stream, and of an object with strings."""
MOST_STREAMS, MOST_TOLD, MOST_UNPACKED = 20_000, 40, 30_000_000
"""Parts, and objects of information, that are looked at, and bytes that are unpacked of parts."""
_Part = tuple[bytearray, dict[int, tuple[int, int]]]
"""Objects that are packed together in one stream, as unpacked; and where each begins and ends in
that, by number."""


def bare_pdf(content: bytes, picture: Callable[[bytes], bytes]) -> bytes:
    """Return a PDF without what it tells beside its pages; `picture` bares a picture in it."""
    bared, left = bytearray(content), MOST_UNPACKED
    packs: dict[tuple[int, int], _Part] = {}
    for head, start, end in _streams(content):
        if METADATA.search(head):
            _put(bared, start, end, zlib.compress(b"") if b"/FlateDecode" in head else b"")
        elif content.startswith(b"\xff\xd8\xff", start):
            _put(bared, start, end, picture(content[start:end]))
        elif OBJECTS.search(head) and (pack := _unpacked(head, content[start:end], left)):
            left -= len(pack[0])
            packs[start, end] = pack
    _blank_information(bared, list(packs.values()))
    for place, (objects, _) in packs.items():
        _put(bared, *place, zlib.compress(objects, 9))
    return bytes(bared)


def _streams(content: bytes) -> Iterator[tuple[bytes, int, int]]:
    """Yield the dictionary of each stream, and where the stream begins and ends."""
    at = 0
    for _ in range(MOST_STREAMS):
        found = STREAM.search(content, at)
        at = content.find(b"endstream", found.end()) if found else -1
        if found is None or at < 0:
            return
        head = content[max(found.start() - LONGEST_HEAD, 0) : found.start()]
        body = content[found.end() : at]
        yield head[head.rfind(b" obj") + 1 :], found.end(), found.end() + len(body.rstrip(b"\r\n"))


def _put(bared: bytearray, start: int, end: int, content: bytes) -> None:
    """Write something shorter in a place, and blank the rest of it; leave it if there's no room."""
    if len(content) <= end - start:
        bared[start:end] = content.ljust(end - start, b"\x00" if content else b" ")


def _unpacked(head: bytes, content: bytes, most: int) -> _Part | None:
    first = FIRST.search(head)
    if first is None or most <= 0:
        return None
    try:
        objects = bytearray(zlib.decompressobj().decompress(content, most))
        numbers = [int(word) for word in objects[: int(first[1])].split()]
    except (zlib.error, ValueError):
        return None
    begins = [int(first[1]) + offset for offset in numbers[1::2]]
    ends = [*begins[1:], len(objects)]
    places = dict(zip(numbers[::2], zip(begins, ends, strict=True), strict=False))
    return objects, places


def _blank_information(bared: bytearray, parts: Sequence[_Part]) -> None:
    """Blank the strings of every information dictionary, and those that it keeps elsewhere."""
    told = b"".join(
        _blank_object(bared, parts, number, is_dictionary=True)
        for number in _numbers(INFORMATION, bytes(bared))
    )
    for number in _numbers(REFERENCE, told):
        _blank_object(bared, parts, number, is_dictionary=False)


def _numbers(reference: re.Pattern[bytes], content: bytes) -> list[int]:
    """Return the numbers of the objects that are referred to, each once."""
    return list(dict.fromkeys(map(int, reference.findall(content))))[:MOST_TOLD]


def _blank_object(
    bared: bytearray, parts: Sequence[_Part], number: int, *, is_dictionary: bool
) -> bytes:
    """Blank the strings of an object, in each version of it; return what it is then."""
    left = b""
    packed = ((content, *places[number]) for content, places in parts if number in places)
    for content, start, end in [*_plain(bared, number), *packed]:
        begun = content[start : start + 20].lstrip()
        if is_dictionary == begun.startswith(b"<<"):
            left += content[start : _blank_strings(content, start, end)]
    return left


def _plain(bared: bytearray, number: int) -> Iterator[tuple[bytearray, int, int]]:
    begun = re.compile(rb"%d\s{1,9}\d{1,5}\s{1,9}obj\b" % number)
    for found in islice(begun.finditer(bytes(bared)), MOST_TOLD):
        if not bared[max(found.start() - 1, 0) : found.start()].isdigit():
            yield bared, found.end(), min(len(bared), found.end() + LONGEST)


def _blank_strings(content: bytearray, at: int, end: int) -> int:
    """Blank the strings from a place on to the end of an object, which is returned."""
    while (token := TOKEN.search(content, at, end)) and token[0] != b"endobj":
        at, begun = token.end(), token.start() + 1
        if token[0] == b"(":
            at = _end_of_string(content, at, end)
        if token[0] != b"<<":
            content[begun : at - 1] = b" " * (at - 1 - begun)
    return token.start() if token else end


def _end_of_string(content: bytearray, at: int, end: int) -> int:
    depth = 1
    while depth and (sign := IN_STRING.search(content, at, end)):
        at = sign.end()
        depth += {b"(": 1, b")": -1}.get(sign[0], 0)
    return at


Bytes = bytes | bytearray
Order = Literal["little", "big"]

ORIENTATION, UPRIGHT = 0x0112, 1
MARKER = re.compile(rb"\xff[^\x00\xd0-\xd7\xff]")
"""What ends the pixels of a JPEG: neither a byte 255 of theirs, nor a mark to restart at."""
SCAN, END = 0xDA, 0xD9
TOLD = frozenset((*range(0xE0, 0xF0), 0xFE))
"""JPEG's segments for applications, and for comments."""
NEEDED = {0xE0: b"JFIF\x00", 0xE2: b"ICC_PROFILE\x00", 0xEE: b"Adobe"}
"""Those among them that say how pixels are to be seen."""
LENGTH_OF_JFIF = 18
"""Of its segment, without the small picture that may follow."""
PNG = b"\x89PNG\r\n\x1a\n"
CHUNKS = frozenset((b"tRNS", b"cHRM", b"gAMA", b"iCCP", b"sBIT", b"sRGB", b"cICP", b"pHYs"))
"""PNG's chunks that say how pixels are to be seen, beside the critical ones."""
EXIF = b"Exif\x00\x00"
HELD = re.compile(rb"tiff:Orientation(?:=\"|>)([1-8])")
"""The same in an XMP packet."""
TAGS = frozenset(
    (254, 255, 256, 257, 258, 259, 262, 263, 266, 273, 274, 277, 278, 279, 280, 281, 282, 283, 284,
     290, 291, 292, 293, 296, 301, 317, 318, 319, 320, 321, 322, 323, 324, 325, 332, 334, 336, 338,
     339, 340, 341, 342, 347, 512, 513, 514, 515, 517, 518, 519, 520, 521, 529, 530, 531, 532,
     33421, 33422, 34675, 50706, 50707, *range(50710, 50725), 50727, 50728, 50729, 50730, 50778,
     50779, 50829, 50964, 50965)
)  # fmt: skip
"""Of a TIFF, and of a digital negative: how its pixels are packed and to be seen."""
DIRECTORIES = frozenset((330, 34665, 34853, 40965))
"""Tags that lead to more tags: of further pictures, EXIF, GPS, and interoperability."""
SIZES = {1: 1, 2: 1, 3: 2, 4: 4, 5: 8, 6: 1, 7: 1, 8: 2, 9: 4, 10: 8, 11: 4, 12: 8, 13: 4, 16: 8,
         17: 8, 18: 8}  # fmt: skip
"""Bytes of a value, by its type."""
MOST_DIRECTORIES = 10_000
TIFF = re.compile(rb"II[*+]\x00|MM\x00[*+]")
HEIC_EXIF = re.compile(re.escape(EXIF) + rb"(?=II\*\x00|MM\x00\*)")
XMP_BEGINS, XMP_ENDS = b"<x:xmpmeta", b"</x:xmpmeta>"


def bare(content: bytes) -> bytes:
    """Return a JPEG, PNG, TIFF, HEIC or PDF without what it tells; anything else as it is."""
    if content[:5] == b"%PDF-":
        return bare_pdf(content, bare)
    if content[:2] == b"\xff\xd8":
        return b"".join(_jpeg(content))
    if content[:8] == PNG:
        return PNG + b"".join(_png(content))
    if TIFF.match(content):
        bared = bytearray(content)
        _Tags(bared, 0).bare(TAGS)
        return bytes(bared)
    if content[4:8] == b"ftyp":
        return _heic(content)
    return content


def _jpeg(content: bytes) -> Iterator[bytes]:
    yield content[:2]
    scan = content.find(bytes((0xFF, SCAN)))
    held, at, has_pixels = _held(content[:scan] if scan >= 0 else content), 2, False
    if held != UPRIGHT:
        noted = EXIF + _exif(held)
        yield b"\xff\xe1" + struct.pack(">H", len(noted) + 2) + noted
    while found := MARKER.search(content, at):
        if has_pixels:
            yield content[at : found.start()]
        at, code = found.start(), content[found.start() + 1]
        has_pixels = has_pixels or code == SCAN
        if code == END:
            yield content[at : at + 2]
            return  # what follows is another picture, with all that was told of it
        end = at + 2 + int.from_bytes(content[at + 2 : at + 4])
        if code not in TOLD:
            yield content[at:end]
        elif content[at + 4 : end].startswith(NEEDED.get(code, b"\x00 nothing")):
            without = (
                b"\xff\xe0\x00\x10" + content[at + 4 : end][: LENGTH_OF_JFIF - 6] + b"\x00\x00"
            )
            yield without if code == 0xE0 else content[at:end]
        at = max(end, at + 2)
    yield content[at:]  # it breaks off, which whoever opens it will say


def _held(head: bytes) -> int:
    """Return which way is up, by a note of EXIF or else of XMP."""
    if (at := head.find(EXIF)) >= 0 and (held := _tag_held(head[at + len(EXIF) :])):
        return held
    noted = HELD.search(head)
    return int(noted[1]) if noted else UPRIGHT


def _tag_held(tiff: bytes) -> int:
    order = _order(tiff)
    first = _number(tiff, 4, 4, order)
    for at in range(first + 2, first + 2 + 12 * _number(tiff, first, 2, order), 12):
        if _number(tiff, at, 2, order) == ORIENTATION:
            return held if 1 <= (held := _number(tiff, at + 8, 2, order)) <= 8 else UPRIGHT
    return 0


def _exif(held: int) -> bytes:
    """Write EXIF that says which way is up, and nothing else."""
    return struct.pack(">2sHIHHHIHHI", b"MM", 42, 8, 1, ORIENTATION, 3, 1, held, 0, 0)


def _png(content: bytes) -> Iterator[bytes]:
    at, head = len(PNG), content[: max(content.find(b"IDAT"), 0)]
    mark = head.find(b"eXIf")
    held = (_tag_held(head[mark + 4 :]) if mark >= 0 else 0) or _held(head)
    while at < len(content):
        end = at + 12 + int.from_bytes(content[at : at + 4])
        kind = content[at + 4 : at + 8]
        if kind[:1].isupper() or kind in CHUNKS:
            yield content[at:end]
        if kind == b"IHDR" and held != UPRIGHT:
            noted = b"eXIf" + _exif(held)
            yield struct.pack(">I", len(noted) - 4) + noted + struct.pack(">I", zlib.crc32(noted))
        if kind == b"IEND":
            return
        at = end


def _heic(content: bytes) -> bytes:
    """Blank what is told; every part of such a file is found by where it lies, so none is moved."""
    bared, at = bytearray(content), 0
    while (at := content.find(XMP_BEGINS, at)) >= 0 and (end := content.find(XMP_ENDS, at)) >= 0:
        bared[at:end] = b" " * (end - at)
        at = end
    for found in HEIC_EXIF.finditer(content):
        _Tags(bared, found.end()).bare(frozenset({ORIENTATION}))
    return bytes(bared)


class _Tags:
    """The tags of a TIFF, or of EXIF that begins at `base`, to be blanked where they lie."""

    def __init__(self, content: bytearray, base: int) -> None:
        self.content, self.base = content, base
        self.order = _order(content[base : base + 2])
        is_big = self._at(base + 2, 2) == 43
        self.word = 8 if is_big else 4
        self.head, self.size = (8, 20) if is_big else (2, 12)
        self.done: set[int] = set()

    def bare(self, kept: frozenset[int]) -> None:
        """Blank what the tags of every page say but for some, and close the gaps among them."""
        at = self._at(self.base + self.word, self.word)
        while at:
            at = self._directory(at, kept)

    def _directory(self, offset: int, kept: frozenset[int]) -> int:
        """Do so with one directory of tags; return where the next one is said to lie."""
        at = self.base + offset
        count = self._at(at, self.head)
        end = at + self.head + self.size * count
        if offset in self.done or len(self.done) >= MOST_DIRECTORIES:
            return 0
        self.done.add(offset)
        if end + self.word > len(self.content):
            return 0
        left = b""
        for entry in range(at + self.head, end, self.size):
            if self._at(entry, 2) in kept:
                left += self.content[entry : entry + self.size]
            else:
                self._blank(entry)
        following = self._at(end, self.word)
        told = (len(left) // self.size).to_bytes(self.head, self.order) + left
        told += following.to_bytes(self.word, self.order)
        self.content[at : end + self.word] = told.ljust(end + self.word - at, b"\x00")
        return following

    def _blank(self, entry: int) -> None:
        """Blank what a tag says elsewhere in the file; where it leads to more tags, those too."""
        count = self._at(entry + 4, self.word)
        length = count * SIZES.get(self._at(entry + 2, 2), 1)
        place = entry + 4 + self.word
        where = self._at(place, self.word)
        if self._at(entry, 2) in DIRECTORIES:
            if length <= self.word:
                self._directory(where, frozenset())
                return
            first = self.base + where
            for one in range(first, first + length, self.word)[:MOST_DIRECTORIES]:
                self._directory(self._at(one, self.word), frozenset())
        if length > self.word and self.base + where + length <= len(self.content):
            self.content[self.base + where : self.base + where + length] = bytes(length)

    def _at(self, place: int, size: int) -> int:
        return _number(self.content, place, size, self.order)


def _order(tiff: Bytes) -> Order:
    return "little" if tiff[:2] == b"II" else "big"


def _number(content: Bytes, at: int, size: int, order: Order) -> int:
    return int.from_bytes(content[at : at + size], order)
