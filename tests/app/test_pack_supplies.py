"""Which supplies of a class pack are a must."""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from laydown.app.fits import Supplies
from laydown.app.lessons.lessons import LessonAsked, new_lesson, write_lesson
from laydown.app.lessons.packs import pack_lesson, write_pack
from laydown.app.library import open_named
from laydown.app.matches.colors import Asking

LIST = b"""\
passage,color
hedge,Pea pod
hedge,Hedge
rind,Quince
rind,Melon frame
bowl,Bucket
"""


def test_the_only_dark_green_is_always_needed(
    tmp_path: Path, lay_demo: Callable[[Path], Path]
) -> None:
    """Each used once: the one dark green is a must though there is a light one, so is the gray;
    of two pale oranges that spare each other one is a must and the other nice to have.
    """
    library = open_named(str(lay_demo(tmp_path / "demo.db")))
    asking = Asking(Supplies(ranges=("Orchard",), paper="Gannet smooth"), steps=1, coats=1, top=1)
    text = write_lesson(new_lesson(library, LIST, "hedge.csv", paper="Gannet smooth"))
    packed = pack_lesson(library, LessonAsked(text, "hedge.txt", asking))
    library.close()
    must = {need.colorant.name: need.must for need in packed.parts[0].needed}
    assert must == {
        "Bucket": True,
        "Hedge": True,
        "Melon frame": True,
        "Pea pod": True,
        "Quince": False,
    }
    page = write_pack(packed, "html").decode()
    assert page.casefold().count("nice to have") == 1


def test_supplies_stand_as_one_shops(tmp_path: Path, lay_demo: Callable[[Path], Path]) -> None:
    """What is needed stands before what is nice to have; each by its place in the shop, the 9th
    before the 10th, and by name where it has none; what may stand in is said last.
    """
    library = open_named(str(lay_demo(tmp_path / "demo.db")))
    places = {"Bucket": "shelf 10", "Melon frame": "shelf 9", "Quince": "shelf 1"}
    with library.work("say where each stands in the shop") as work:
        known = [work.find_colorant(f"Orchard/{name}") for name in places]
        work.add_colorants([replace(one, code=places[one.name]) for one in known])
    asking = Asking(Supplies(ranges=("Orchard",), paper="Gannet smooth"), steps=1, coats=1, top=1)
    text = write_lesson(new_lesson(library, LIST, "hedge.csv", paper="Gannet smooth"))
    packed = pack_lesson(library, LessonAsked(text, "hedge.txt", asking))
    library.close()
    supplies = packed.report.sections[0].rows
    assert [row.head for row in supplies] == [
        "Melon frame shelf 9",
        "Bucket shelf 10",
        "Hedge",
        "Pea pod",
        "Quince shelf 1",
    ]
    assert [row.text.split()[0] for row in supplies] == ["Needed"] * 4 + ["Nice"]
    assert all(row.text.endswith(("may stand in.", "no substitute.")) for row in supplies)
