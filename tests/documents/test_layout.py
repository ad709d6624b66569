"""The page, its typeface and what every one of them says."""

import hashlib
import re
from collections.abc import Callable
from importlib.resources import files

import pytest
from hypothesis import given
from hypothesis import strategies as st

from laydown.color.naming import color_name
from laydown.documents.print import entries as headings
from laydown.documents.print import layout as cautions
from laydown.documents.print.charts import chart_html
from laydown.documents.print.layout import (
    CAUTIONS,
    PAGES,
    SIGNS,
    UNSHOWN,
    clip,
    printable,
    text_area,
    width,
    wrap,
)
from laydown.match.outcome import Verdict
from laydown.plan.chart import ROLE_ORDER, Chart


def test_pages_have_the_sizes_of_their_standards() -> None:
    """A4 is 210 by 297 mm; Letter is 8.5 by 11 inches of 25.4 mm."""
    assert PAGES["A4"] == (210.0, 297.0)
    assert PAGES["Letter"] == pytest.approx((8.5 * 25.4, 11 * 25.4))


@pytest.mark.parametrize("page", PAGES.values(), ids=PAGES)
def test_text_stays_where_home_printers_print(page: tuple[float, float]) -> None:
    """The text area leaves 12 mm or more bare at each side of the page."""
    area = text_area(page)
    assert min(area.left, area.top, page[0] - area.right, page[1] - area.bottom) >= 12.0


def test_nothing_is_called_safe() -> None:
    """No caution calls a solvent or an ink safe, harmless or the like."""
    told = " ".join(CAUTIONS).casefold()
    assert not re.search(r"\bsafe|harmless|non-?toxic|no risk|not dangerous", told)


@pytest.mark.parametrize(
    "matter",
    [
        "air the room",
        "dry in air",
        "flame, spark or heat gun",
        "small, lidded, labeled jar",
        "never in a cup",
        "label and local rules",
        "fresh air",
        "lick brushes",
        "pigment dust",
        "classes go without solvent",
        "hazard label of your own country",
        "license",
    ],
)
def test_each_matter_is_spoken_of(matter: str) -> None:
    """What the trade warns of is in the cautions."""
    assert matter in " ".join(CAUTIONS)


def test_the_label_comes_first() -> None:
    """The first caution says that the label and local rules count before this page."""
    assert "counts before anything written here" in CAUTIONS[0]


FONTS = files("laydown.documents") / "fonts"


def test_the_typeface_is_the_one_its_sources_name() -> None:
    """Each font file has the checksum written beside it, and its license is there in full."""
    told = (FONTS / "SOURCES.md").read_text(encoding="utf-8")
    shipped = [path for path in FONTS.iterdir() if path.name.endswith(".ttf")]
    assert len(shipped) == 2
    for path in shipped:
        digest = hashlib.sha256(path.read_bytes()).hexdigest()
        assert re.search(rf"`{path.name}` \| `{digest}`", told)
    text = (FONTS / "LICENSE-FiraSans.txt").read_text(encoding="utf-8")
    assert "SIL OPEN FONT LICENSE Version 1.1" in text
    assert "Reserved Font Name" in text


def test_the_typeface_stays_small() -> None:
    """Regular and bold together are under 1.5 MB."""
    assert sum(len(p.read_bytes()) for p in FONTS.iterdir() if p.name.endswith(".ttf")) < 1.5e6


def test_every_text_of_our_own_can_be_printed(mixed: Callable[[int], Chart]) -> None:
    """No sentence, verdict, role or color name of ours has a character without a glyph."""
    ours = [
        *cautions.CAUTIONS,
        cautions.HEADING_CAUTIONS,
        cautions.SHOWN_COLORS,
        headings.reading(mixed(6)),
        headings.INVENTED,
        headings.NO_ROWS,
        cautions.CARE,
        UNSHOWN,
        *map(str, Verdict),
        *ROLE_ORDER,
        *(color_name([light, a, b]) for light in (5, 50, 95) for a in (-40, 40) for b in (-40, 40)),
        "".join(chart_html(mixed(6)).split()),
        "ΔE ± − – — · × “”‘’ … → 0123456789 %°²",
    ]
    assert [text for text in ours if printable(text) != text] == []


@pytest.mark.parametrize(
    "name", ["Señal ñandú", "Дюна", "Άμμος", "Żółć", "İstanbul ığdır", "Đá vôi ở bờ", "Blå græs"]
)
def test_latin_greek_and_cyrillic_names_print_as_they_are(name: str) -> None:
    """Names in the scripts that the typeface covers come out unchanged."""
    assert printable(name) == name


def test_accents_apart_are_joined() -> None:
    """A letter and its combining accent print as the one letter they make."""
    assert printable("Sen\u0303al") == "Señal"


def test_a_missing_glyph_is_seen_and_names_stay_different() -> None:
    """What the typeface lacks shows as its number, so that two such names never look alike."""
    assert printable("青") == "‹9752›"
    assert printable("青") != printable("赤")
    assert printable("Sea 🌊") == "Sea ‹1F30A›"
    assert printable("a\x00b") == "a‹0000›b"
    assert printable("abc\u202edef") == "abc‹202E›def"


@given(st.text(max_size=40))
def test_printable_text_stays_printable(text: str) -> None:
    """Making a text printable twice is the same as once, and leaves no line end in it."""
    once = printable(text)
    assert printable(once) == once
    assert not re.search(r"[\r\n\t]", once)


@given(st.text(max_size=120), st.floats(14.0, 120.0))
def test_wrapped_lines_fit_and_lose_nothing(text: str, measure: float) -> None:
    """Lines fit any measure that holds one glyph's number, and lose none of the text but spaces."""
    lines = wrap(text, 9.0, measure)
    assert all(width(line, 9.0) <= measure for line in lines)
    assert "".join(lines).replace(" ", "") == printable(text).replace(" ", "")


def test_a_clipped_text_says_so() -> None:
    """A text too wide for its line ends in …, one that fits is left alone."""
    assert clip("Kelp", 9.0, 50.0) == "Kelp"
    short = clip("Kelp and driftwood at the harbor wall", 9.0, 30.0)
    assert short.endswith("…")
    assert width(short, 9.0) <= 30.0


def test_a_number_for_a_glyph_stays_on_one_line() -> None:
    """A long name in another script is broken between its characters' numbers, not in them."""
    lines = wrap("青い海の底の色", 9.0, 30.0)
    assert len(lines) > 1
    assert all(re.fullmatch("(‹[0-9A-F]{4}›)+", line) for line in lines)


def test_each_verdict_has_a_sign_of_its_own_shape() -> None:
    """Every verdict has a sign, no two are the same, and none tells by color."""
    assert set(SIGNS) == set(Verdict)
    assert len(set(SIGNS.values())) == len(Verdict)
    assert all("#" not in sign and "currentColor" in sign for sign in SIGNS.values())


def test_signs_stay_in_their_circle() -> None:
    """No shape reaches beyond radius 1, so that signs keep clear of the words beside."""
    for sign in SIGNS.values():
        shapes = re.findall(r' (?:r|d)="([^"]+)"', sign)
        assert len(shapes) >= 2
        assert max(abs(float(n)) for d in shapes for n in re.findall(r"-?[\d.]+", d)) <= 1.0
