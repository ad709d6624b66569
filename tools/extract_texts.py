"""Gather the bench's texts for translators, and make what they wrote ready for use.

``python tools/extract_texts.py`` writes all texts to ``texts.pot``, which is made when it is wanted
and not kept. With languages (``python tools/extract_texts.py de pt_BR``) it begins or renews their
``laydown.po`` below ``src/laydown/web/translations``, keeping what was translated, and compiles
each into the ``laydown.mo`` that the bench reads. Both are kept.
"""

import sys
from pathlib import Path

from babel.messages.catalog import Catalog
from babel.messages.extract import extract_from_dir
from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po, write_po

import laydown
from laydown.web.language import DOMAIN

ROOT = Path(__file__).parent.parent
WEB = ROOT / "src" / "laydown" / "web"
TRANSLATIONS = WEB / "translations"
WAYS = [("**.py", "python"), ("templates/**.j2", "jinja2")]
OPTIONS = {"templates/**.j2": {"trim_blocks": "true", "lstrip_blocks": "true", "silent": "false"}}
KEYWORDS = {"_": None, "gettext": None, "ngettext": (1, 2)} | {
    "tell": None,
    "marked": None,
    "tell_count": (1, 2),
}
ABOUT = "# Texts of laydown's bench."


def texts() -> Catalog:
    """Return all texts of the bench, each with the files that it is in."""
    catalog = Catalog(
        project="laydown", version=laydown.__version__, header_comment=ABOUT, fuzzy=False
    )
    found = extract_from_dir(WEB, WAYS, OPTIONS, KEYWORDS)
    for file, _, text, _, context in sorted(found, key=lambda one: one[:2]):
        catalog.add(text, locations=[(file, 0)], context=context)
    return catalog


def renew(language: str) -> Path:
    """Bring a language's texts up to date, compile them, and return where they are written."""
    path = TRANSLATIONS / language / "LC_MESSAGES" / f"{DOMAIN}.po"
    path.parent.mkdir(parents=True, exist_ok=True)
    catalog = texts()
    if path.exists():
        with path.open("rb") as stream:
            catalog = read_po(stream, locale=language, domain=DOMAIN)
        catalog.update(texts())
    else:
        catalog.locale = language
    with path.open("wb") as stream:
        write_po(stream, catalog, include_lineno=False, ignore_obsolete=True)
    with path.with_suffix(".mo").open("wb") as stream:
        write_mo(stream, catalog)
    return path


def main(languages: list[str]) -> None:
    """Write the texts, or bring languages up to date."""
    if not languages:
        pattern = Path("texts.pot")
        with pattern.open("wb") as stream:
            write_po(stream, texts(), include_lineno=False)
        print(f"Written: {pattern}, {len(texts())} texts")
    for language in languages:
        print(f"Written: {renew(language)}")


if __name__ == "__main__":
    main(sys.argv[1:])
