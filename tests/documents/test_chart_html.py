import re
from collections.abc import Callable
from html.parser import HTMLParser
from itertools import pairwise

from laydown.color.lab import xyz_from_lab
from laydown.color.screen import lab_from_hex
from laydown.documents.print.charts import chart_html
from laydown.documents.print.entries import INVENTED, NO_ROWS, entries
from laydown.documents.print.layout import CAUTIONS, SHOWN_COLORS
from laydown.match.outcome import Match
from laydown.plan.chart import Chart

Mixed = Callable[[int], Chart]
VOID = {"meta", "link", "br", "img", "hr", "input"}


class Page(HTMLParser):
    """Keeps tags with their attributes, the text, and checks that all that opens is closed."""

    def __init__(self, text: str) -> None:
        super().__init__(convert_charrefs=True)
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.words: list[str] = []
        self._open: list[str] = []
        self.feed(text)
        self.close()
        assert self._open == []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Keep a tag."""
        self.tags.append((tag, dict(attrs)))
        if tag not in VOID:
            self._open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Keep a tag that closes itself, as in SVG."""
        self.tags.append((tag, dict(attrs)))

    def handle_endtag(self, tag: str) -> None:
        """Close the tag opened last."""
        assert self._open.pop() == tag

    def handle_data(self, data: str) -> None:
        """Keep the text."""
        if self._open and self._open[-1] != "style":
            self.words.append(data)

    def named(self, *names: str) -> list[dict[str, str | None]]:
        """Return the attributes of all tags so named."""
        return [attributes for tag, attributes in self.tags if tag in names]

    @property
    def text(self) -> str:
        """All text on one line."""
        return " ".join("".join(self.words).replace("\u00a0", " ").split())


def test_the_page_needs_nothing_but_itself(mixed: Mixed) -> None:
    """No script, style sheet, image or address is fetched, and a policy in it forbids that."""
    text = chart_html(mixed(6))
    page = Page(text)
    assert page.named("script", "link", "img", "iframe", "object", "form") == []
    assert not re.search(r"https?:|url\(|@import|\bsrc=", text)
    assert page.named("a") == []
    policy = [m for m in page.named("meta") if m.get("http-equiv") == "Content-Security-Policy"]
    assert policy[0]["content"] == "default-src 'none'; style-src 'unsafe-inline'"


def test_patches_are_fills_and_no_style_stands_inline(mixed: Mixed) -> None:
    """No tag carries a style, so that a strict policy leaves the patches as they are."""
    assert [a for _, a in Page(chart_html(mixed(6))).tags if "style" in a] == []


def test_the_page_speaks_to_readers_and_screen_readers(mixed: Mixed) -> None:
    """Language, title, one h1, h2 and h3 in steps; tables with captions; pictures named or mute."""
    page = Page(chart_html(mixed(6)))
    assert page.named("html")[0]["lang"] == "en"
    levels = [int(tag[1]) for tag, _ in page.tags if re.fullmatch("h[1-6]", tag)]
    assert levels.count(1) == 1
    assert all(b - a <= 1 for a, b in pairwise(levels))
    assert len(page.named("caption")) == len(page.named("table")) == 1
    assert all(cell.get("scope") in {"row", "col"} for cell in page.named("th"))
    cards = [svg for svg in page.named("svg") if svg.get("class") == "patches"]
    assert len(cards) == 6
    assert all(svg["role"] == "img" and svg["aria-label"] for svg in cards)
    signs = [svg for svg in page.named("svg") if svg.get("class") == "sign"]
    assert all(svg["aria-hidden"] == "true" for svg in signs)


def test_every_color_has_words_and_numbers(mixed: Mixed) -> None:
    """Beside each patch stand its name, value and Lab; beside each sign its verdict."""
    chart = mixed(6)
    text = Page(chart_html(chart)).text
    for row in entries(chart):
        for shade in (row.wanted, row.predicted):
            assert f"{shade.words}, {shade.numbers}".replace("\u00a0", " ") in text
        assert f"{row.verdict}. {row.off}" in text
        said = [row.off, row.sure, row.chance, row.single, row.mud, *row.notes, *row.instructions]
        for sentence in said:
            assert " ".join(sentence.split()) in text


def test_patches_have_the_colors_of_their_entries(mixed: Mixed) -> None:
    """Each card holds its two colors and their grays as fills, in that order."""
    chart = mixed(6)
    fills = [rect.get("fill") for rect in Page(chart_html(chart)).named("rect")]
    told = " ".join(fill for fill in fills if fill)
    for row in entries(chart):
        shown = (row.wanted.fill, row.predicted.fill, row.wanted.gray, row.predicted.gray)
        assert " ".join(shown) in told


def test_names_are_text_and_never_markup(
    make_chart: Callable[..., Chart], make_match: Callable[..., Match]
) -> None:
    """Angle brackets, ampersands and quotes in people's names stay what they are."""
    name = "<b onclick=\"x\">Rind & 'peel' 砂"
    chart = make_chart(make_match(name, passage=name), title=name, kit=name)
    page = Page(chart_html(chart))
    assert page.named("b") == []
    assert page.text.count(" ".join(name.split())) >= 4


def test_type_stands_out_from_the_surround(mixed: Mixed) -> None:
    """Ink and pencil have a contrast of 4.5 to 1 or more on the gray surround (WCAG 2.1, 1.4.3)."""
    text = chart_html(mixed(1))
    tones = dict(re.findall(r"--(ink|pencil|line|surround): (#[0-9a-f]{6})", text))
    light = {name: xyz_from_lab(lab_from_hex(tone))[1] / 100.0 for name, tone in tones.items()}
    for tone, least in (("ink", 7.0), ("pencil", 4.5), ("line", 3.0)):
        assert (light["surround"] + 0.05) / (light[tone] + 0.05) >= least


def test_the_surround_is_a_neutral_gray(mixed: Mixed) -> None:
    """Behind everything lies a light gray without a hue, as ISO 3664 asks for judging color."""
    tone = re.findall(r"--surround: #(..)(..)(..);", chart_html(mixed(1)))[0]
    assert len(set(tone)) == 1
    assert 70.0 < lab_from_hex("#" + "".join(tone))[0] < 90.0


def test_warnings_and_cautions_are_on_the_page(mixed: Mixed) -> None:
    """The page says that its colors aren't true, that data is invented, and every caution."""
    text = Page(chart_html(mixed(6))).text
    for sentence in (SHOWN_COLORS, INVENTED, *CAUTIONS):
        assert sentence in text


def test_a_chart_without_rows_says_so(mixed: Mixed) -> None:
    """No targets make a page without tables that says that there are none."""
    page = Page(chart_html(mixed(0)))
    assert NO_ROWS in page.text
    assert page.named("table", "article") == []


def test_the_same_chart_gives_the_same_page(mixed: Mixed) -> None:
    """Nothing on the page depends on when it was made."""
    assert chart_html(mixed(6)) == chart_html(mixed(6))


def test_numbers_are_folded_away_until_they_are_asked_for(mixed: Mixed) -> None:
    """Each row has its steps in sight; what lies behind is folded, and unfolded with details."""
    folded, open_ = (Page(chart_html(mixed(6), details=details)) for details in (False, True))
    assert len(folded.named("details")) == 6 + 1
    assert all("open" not in part for part in folded.named("details"))
    assert all("open" in part for part in open_.named("details"))
    assert folded.text == open_.text
    text = folded.text
    for row in entries(mixed(6)):
        for said in (row.in_short, *(words for words, _ in row.layers)):
            assert said in text
