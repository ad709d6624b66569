"""A picture's plan as a file, and changes to it written as lines."""

import io
import json
import zipfile
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image

from laydown.demo.lemons import draw_lemons
from laydown.documents.files.plans import (
    change_in_words,
    is_plan,
    read_changes,
    read_plan,
    write_plan,
)
from laydown.errors import BadFileError
from laydown.plan.picture.edits import Edit, edited
from laydown.plan.picture.picture import PicturePlan, PlanRules
from laydown.plan.picture.plan import make_plan


@pytest.fixture(scope="module")
def plan() -> PicturePlan:
    """Return a small plan with a passage in it."""
    lab, _ = draw_lemons(rows=96, columns=144, grain=0.5)
    made = make_plan(lab, PlanRules(steps=4, width=120.0), title="Lemons – small")
    return edited(made, [Edit("assign", (1, 2), None, "bowl & wall", "shadow")])


@pytest.fixture(scope="module")
def file(plan: PicturePlan) -> bytes:
    """Return that plan as a file."""
    return write_plan(plan)


def rebuilt(file: bytes, change: Callable[[dict[str, bytes]], None]) -> bytes:
    """Return the file with its parts changed."""
    with zipfile.ZipFile(io.BytesIO(file)) as archive:
        parts = {name: archive.read(name) for name in archive.namelist()}
    change(parts)
    content = io.BytesIO()
    with zipfile.ZipFile(content, "w") as archive:
        for name, part in parts.items():
            archive.writestr(name, part)
    return content.getvalue()


def told(file: bytes, **changes: Any) -> bytes:
    """Return the file with entries of its description changed."""

    def change(parts: dict[str, bytes]) -> None:
        parts["plan.json"] = json.dumps({**json.loads(parts["plan.json"]), **changes}).encode()

    return rebuilt(file, change)


def png(pixels: np.ndarray) -> bytes:
    """Return a PNG of an array."""
    content = io.BytesIO()
    Image.fromarray(pixels).save(content, "PNG")
    return content.getvalue()


def test_reading_gives_what_was_written(plan: PicturePlan, file: bytes) -> None:
    """Regions, palette, rules, passages and notes come back; colors to a hundredth."""
    back = read_plan(file, source="lemons.plan")
    assert np.array_equal(back.values.labels, plan.values.labels)
    assert np.abs(back.seen - plan.seen).max() <= 0.00501
    assert (back.title, back.rules, back.notes) == (plan.title, plan.rules, plan.notes)
    for one, other in zip(back.values.regions, plan.values.regions, strict=True):
        assert one.lab == pytest.approx(other.lab, abs=1e-4)
        assert one.share == pytest.approx(other.share)
        named = ("number", "color", "value_step", "passage", "role")
        assert [getattr(one, n) for n in named] == [getattr(other, n) for n in named]
    assert [c.number for c in back.palette] == [c.number for c in plan.palette]
    assert back.values.boundaries == pytest.approx(plan.values.boundaries, abs=1e-4)


def test_the_same_plan_is_the_same_bytes(plan: PicturePlan, file: bytes) -> None:
    """A file carries no time; and what was read is written as it was."""
    assert write_plan(plan) == file
    assert write_plan(read_plan(file, source="x")) == file


def test_pictures_are_no_plans(file: bytes) -> None:
    """A plan is told from a picture by how it begins."""
    assert is_plan(file)
    assert not is_plan(png(np.zeros((4, 4), np.uint8)))


def enlarged(content: bytes) -> bytes:
    """Return a PNG whose header promises billions of pixels."""
    return content[:16] + (60_000).to_bytes(4, "big") * 2 + content[24:]


def one_more(content: bytes) -> bytes:
    """Return the regions with a pixel of one that the list does not have."""
    with Image.open(io.BytesIO(content)) as image:
        pixels = np.array(image).astype(np.uint16)
    pixels[0, 0] = 777
    return png(pixels)


DAMAGES: dict[str, tuple[str, Callable[[bytes], bytes | None]]] = {
    "other regions": ("regions.png", lambda _: png(np.ones((96, 144), np.uint16))),
    "one region more": ("regions.png", one_more),
    "another size": ("regions.png", lambda _: png(np.ones((9, 144), np.uint16))),
    "another depth": ("regions.png", lambda _: png(np.ones((96, 144), np.uint8))),
    "empty": ("regions.png", lambda _: b""),
    "far too large": ("regions.png", enlarged),
    "not there": ("picture.png", lambda _: None),
    "cut off": ("picture.png", lambda content: content[:500]),
    "endless": ("plan.json", lambda _: b" " * 5_000_000),
    "no json": ("plan.json", lambda _: b"{"),
    "a list": ("plan.json", lambda _: b"[1, 2]"),
}


@pytest.mark.parametrize("damage", DAMAGES)
def test_a_damaged_plan_is_refused_in_one_sentence(file: bytes, damage: str) -> None:
    """Parts that are missing, cut off, too large or do not fit each other are named."""
    name, spoil = DAMAGES[damage]

    def change(parts: dict[str, bytes]) -> None:
        content = spoil(parts.pop(name))
        if content is not None:
            parts[name] = content

    with pytest.raises(
        BadFileError, match=r"^lemons\.plan is no plan that can be used: "
    ) as caught:
        read_plan(rebuilt(file, change), source="lemons.plan")
    assert caught.value.message.count("\n") == 0
    assert "picture plan" in caught.value.command


@pytest.mark.parametrize(
    "changes",
    [
        {"form": "laydown picture plan 2"},
        {"width": "wide"},
        {"width": -1},
        {"width": float("nan")},
        {"steps": 99},
        {"steps": 2.5},
        {"boundaries": [5.0, 4.0, 3.0]},
        {"boundaries": []},
        {"levels": None},
        {"regions": []},
        {"regions": [{"number": 1}]},
        {"regions": "all"},
        {"notes": [1]},
        {"title": "x" * 500},
        {"tip": True},
    ],
    ids=str,
)
def test_a_description_that_is_wrong_is_refused(file: bytes, changes: dict[str, Any]) -> None:
    """Numbers out of bounds, texts where numbers are due, and regions that aren't there."""
    with pytest.raises(BadFileError, match="is no plan that can be used"):
        read_plan(told(file, **changes), source="lemons.plan")


@pytest.mark.parametrize("content", [b"", b"hello", b"PK\x03\x04 and no more", b"\x89PNG\r\n"])
def test_another_file_is_refused(content: bytes) -> None:
    """What is no archive is no plan."""
    with pytest.raises(BadFileError, match=r"^lemons\.plan is"):
        read_plan(content, source="lemons.plan")


def test_changes_are_read_line_by_line() -> None:
    """All forms, in any capitals, with blanks and commas; comments and empty lines say nothing."""
    text = (
        b"# mine\n\nmerge 3, 4 5\nSPLIT 7 at 6.5\nsplit 8\npassage the bowl: 1 2\nrole Shadow: 3\n"
    )
    assert read_changes(text, source="changes.txt") == (
        Edit("merge", (3, 4, 5)),
        Edit("split", (7,), 6.5),
        Edit("split", (8,)),
        Edit("assign", (1, 2), passage="the bowl"),
        Edit("assign", (3,), role="Shadow"),
    )


@pytest.mark.parametrize("line", ["melt 3", "merge", "split 3 at x", "passage x 1 2", "split 1 2"])
def test_a_line_that_is_no_change_is_named(line: str) -> None:
    """The message has file and line, the hint the forms."""
    with pytest.raises(BadFileError, match=r"^changes\.txt, line 2: ") as caught:
        read_changes(f"merge 1 2\n{line}\n".encode(), source="changes.txt")
    assert "merge 3 4" in caught.value.hint


def archived(file: bytes, how: int) -> bytes:
    """Return a plan whose pictures are packed in some way."""
    content = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(file)) as archive, zipfile.ZipFile(content, "w") as packed:
        for name in archive.namelist():
            packed.writestr(name, archive.read(name), how)
    return content.getvalue()


def test_pictures_are_unpacked_only_where_that_is_bounded(plan: PicturePlan, file: bytes) -> None:
    """What is packed as archives usually are is read; what unpacks all at once is refused."""
    read = read_plan(archived(file, zipfile.ZIP_DEFLATED), source="it")
    assert np.array_equal(read.values.labels, plan.values.labels)
    with pytest.raises(BadFileError, match="packed in a way"):
        read_plan(archived(file, zipfile.ZIP_BZIP2), source="it")


def test_a_list_of_parts_longer_than_a_plan_has_is_not_read(file: bytes) -> None:
    """A few more parts are passed over; hundreds are refused before they are listed."""
    more = {f"{number}.txt": b"" for number in range(9)}
    read_plan(rebuilt(file, lambda parts: parts.update(more)), source="it")
    many = {f"{number}.txt": b"" for number in range(300)}
    with pytest.raises(BadFileError, match="broken, or ends early"):
        read_plan(rebuilt(file, lambda parts: parts.update(many)), source="it")


@pytest.mark.parametrize("times", [1, 10_001])
def test_a_picture_of_odd_chunks_is_refused(file: bytes, times: int) -> None:
    """Its header stands first and once, and there are not thousands of chunks."""
    odd = b"\0\0\0\x04" + (b"IHDR" if times == 1 else b"prVt") + bytes(8)

    def change(parts: dict[str, bytes]) -> None:
        whole = parts["regions.png"]
        parts["regions.png"] = whole[:33] + odd * times + whole[33:]

    with pytest.raises(BadFileError, match=r"picture in it is broken|missing or broken"):
        read_plan(rebuilt(file, change), source="it")


numbers = st.lists(st.integers(1, 65535), min_size=1, max_size=9).map(tuple)
names = st.text(st.characters(min_codepoint=32, exclude_categories=["C", "Z"]), max_size=20)
edits = st.one_of(
    st.builds(Edit, st.just("merge"), numbers),
    st.builds(
        Edit, st.just("split"), st.tuples(st.integers(1, 65535)), st.none() | st.floats(0, 10)
    ),
    st.builds(Edit, st.just("assign"), numbers, passage=names),
    st.builds(Edit, st.just("assign"), numbers, role=st.sampled_from(["", "shadow", "highlight"])),
)


@given(edits)
def test_a_change_that_is_written_is_read_back(edit: Edit) -> None:
    """Whatever was changed by hand can be changed again from its line."""
    line = change_in_words(edit)
    assert "\n" not in line
    assert read_changes(line.encode(), source="changes.txt") == (edit,)


@pytest.mark.parametrize("name", ["bowl: left", "1: 2", "a  b\nc"])
def test_names_of_passages_may_hold_colons_and_blanks(name: str) -> None:
    """Only blanks are drawn together."""
    line = change_in_words(Edit("assign", (3, 4), None, name))
    assert read_changes(line.encode(), source="x") == (
        Edit("assign", (3, 4), None, " ".join(name.split())),
    )
