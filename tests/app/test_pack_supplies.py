"""Which supplies of a class pack are a must."""

from collections.abc import Callable
from pathlib import Path

from laydown.app.demo.adding import add_demo
from laydown.app.fits.at_hand import Supplies
from laydown.app.lessons.lessons import NewLesson, new_lesson
from laydown.app.lessons.packs import PackLesson, pack_lesson, write_pack
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
    tmp_path: Path, lay_library: Callable[[Path], Path]
) -> None:
    """Each used once: the one dark green is a must though there is a light one, so is the gray;
    of two pale oranges that spare each other one is a must and the other nice to have.
    """
    library = open_named(str(lay_library(tmp_path / "library.db")))
    add_demo(library)
    asking = Asking(Supplies(ranges=("Orchard",), paper="Gannet smooth"), steps=1, coats=1, top=1)
    text = new_lesson(library, NewLesson(LIST, "hedge.csv", paper="Gannet smooth")).text.encode()
    packed = pack_lesson(library, PackLesson(text, "hedge.txt", asking))
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
