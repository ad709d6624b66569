"""A scanned PDF without what it says of place, owner and time; its pages are drawn as before.

Every part of a PDF is found by where it lies, so nothing is moved: what is told is blanked in its
place. That is the information dictionary (title, author, program, dates), the metadata of the file
and of each thing in it, and what cameras wrote into the photographs that it holds as JPEG. A PDF
that is encrypted keeps what is hidden in it, and so does one that packs its parts in unusual ways.

References
----------
ISO 32000-1, 7.3.4 (strings), 7.5.7 (object streams), 14.3.2 (metadata) and 14.3.3 (information).
"""

import re
import zlib
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import islice

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


@dataclass(slots=True, eq=False)
class _Packed:
    """Objects that are packed together in one stream."""

    start: int
    end: int
    """Where the stream lies in the file."""
    content: bytearray
    """As unpacked."""
    places: dict[int, tuple[int, int]]
    """Where each object begins and ends in that, by number."""


def bare_pdf(content: bytes, picture: Callable[[bytes], bytes]) -> bytes:
    """Return a PDF without what it tells beside its pages.

    Parameters
    ----------
    content
        Of the file.
    picture
        Does the same for the file of a picture.
    """
    bared, packs, left = bytearray(content), [], MOST_UNPACKED
    for head, start, end in _streams(content):
        if METADATA.search(head):
            _put(bared, start, end, zlib.compress(b"") if b"/FlateDecode" in head else b"")
        elif content.startswith(b"\xff\xd8\xff", start):
            _put(bared, start, end, picture(content[start:end]))
        elif OBJECTS.search(head) and (pack := _unpacked(head, content, start, end, left)):
            left -= len(pack.content)
            packs.append(pack)
    _blank_information(bared, packs)
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


def _unpacked(head: bytes, content: bytes, start: int, end: int, most: int) -> _Packed | None:
    first = FIRST.search(head)
    if first is None or most <= 0:
        return None
    try:
        objects = bytearray(zlib.decompressobj().decompress(content[start:end], most))
        numbers = [int(word) for word in objects[: int(first[1])].split()]
    except (zlib.error, ValueError):
        return None
    begins = [int(first[1]) + offset for offset in numbers[1::2]]
    ends = [*begins[1:], len(objects)]
    places = dict(zip(numbers[::2], zip(begins, ends, strict=True), strict=False))
    return _Packed(start, end, objects, places)


def _blank_information(bared: bytearray, packs: list[_Packed]) -> None:
    """Blank the strings of every information dictionary, and those that it keeps elsewhere."""
    parts = [(pack.content, pack.places) for pack in packs]
    told = b"".join(
        _blank_object(bared, parts, number, is_dictionary=True)
        for number in _numbers(INFORMATION, bytes(bared))
    )
    for number in _numbers(REFERENCE, told):
        _blank_object(bared, parts, number, is_dictionary=False)
    for pack in packs:
        _put(bared, pack.start, pack.end, zlib.compress(pack.content, 9))


def _numbers(reference: re.Pattern[bytes], content: bytes) -> list[int]:
    """Return the numbers of the objects that are referred to, each once."""
    return list(dict.fromkeys(map(int, reference.findall(content))))[:MOST_TOLD]


def _blank_object(
    bared: bytearray, parts: Sequence[_Part], number: int, *, is_dictionary: bool
) -> bytes:
    """Blank the strings of an object, in each version of it; return what it is then."""
    left = b""
    for content, start, end in [*_plain(bared, number), *_packed(parts, number)]:
        begun = content[start : start + 20].lstrip()
        if is_dictionary == begun.startswith(b"<<"):
            left += content[start : _blank_strings(content, start, end)]
    return left


def _plain(bared: bytearray, number: int) -> Iterator[tuple[bytearray, int, int]]:
    begun = re.compile(rb"%d\s{1,9}\d{1,5}\s{1,9}obj\b" % number)
    for found in islice(begun.finditer(bytes(bared)), MOST_TOLD):
        if not bared[max(found.start() - 1, 0) : found.start()].isdigit():
            yield bared, found.end(), min(len(bared), found.end() + LONGEST)


def _packed(parts: Sequence[_Part], number: int) -> Iterator[tuple[bytearray, int, int]]:
    return ((content, *places[number]) for content, places in parts if number in places)


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
