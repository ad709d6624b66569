"""The worst lists, lessons and changes that could be thought of.

Those that begin with "within" keep to every bound and have to be read, or all but; the others go
beyond one.
"""

from functools import partial

from making import DIGITS, Make, Read, counted, filled, table

from laydown import allowed_sizes
from laydown.documents.files.lessons import FIRST_LINE, read_lesson
from laydown.documents.files.lists import read_lightfastness, read_prices, read_targets
from laydown.documents.files.plans import read_changes

listed = partial(filled, size=allowed_sizes.LIST)
TARGETS: dict[str, Make] = {
    "within: five thousand colors": lambda: table("color,name", ["#102030,a"] * 5_000),
    "within: blank lines": lambda: table("color", [*[",,,"] * 1_048_000, "Kelp"]),
    "too large": lambda: filled("color\n", "a\n", size=20_000_000),
    "blank lines": lambda: listed("color\n", "\n"),
    "short lines": lambda: listed("color\n", "a\n"),
    "a heading of commas": lambda: listed("color", ","),
    "commas": lambda: listed("color\n", ","),
    "an unclosed quote": lambda: listed('color\n"', "a\n"),
    "huge cells": lambda: listed("color\n", "a" * 99_000 + "\n"),
    "one huge cell": lambda: listed("color\n", "a"),
    "a long name of a column": lambda: listed("color,", "a"),
    "line ends in quotes": lambda: listed("color\n", '"\n"\n'),
}
PRICES: dict[str, Make] = {
    "within: sets": lambda: table("kind,name,price,contents", ["set,a,1," + "a;" * 10] * 5_000),
    "sets": lambda: listed("kind,name,price,contents\n", f"set,a,1,{'a;' * 480}\n"),
    "short lines": lambda: listed("kind,name,price\n", ",a,1\n"),
    "a heading of commas": lambda: listed("kind,name,price", ","),
    "a heading of one name": lambda: listed("kind,name,price", ",name", "\n,a,1\n"),
    "huge sets": lambda: listed("kind,name,price,contents\n", f"set,a,1,{'a;' * 49_000}\n"),
    "an unclosed quote": lambda: listed('kind,name,price\n"', "a,"),
    "long prices": lambda: listed("kind,name,price\n", f",a,{DIGITS}\n"),
    "currencies": lambda: counted(
        "kind,name,price,currency\n", ",a,1,%d\n", size=allowed_sizes.LIST
    ),
}
READINGS = "range,color,dose,ultraviolet,before,after\n"
FASTNESS: dict[str, Make] = {
    "within: readings": lambda: table(READINGS.strip(), ["S,K,1-2,no,50 0 0,50 1 1"] * 20_000),
    "within: colors of many digits": lambda: listed(
        READINGS, f"S,K,1,no,50.{'1' * 4_900} 0 0,50 0 {'0' * 4_900}\n"
    ),
    "classes": lambda: listed("range,color,class\n", "S,K,3\n"),
    "long colors": lambda: listed(READINGS, f"S,K,1,no,{'5 ' * 60_000},5 0 0\n"),
    "a heading of one name": lambda: listed("range,color,class", ",color"),
    "long classes": lambda: listed("range,color,class\n", f"S,K,{DIGITS}\n"),
    "long doses": lambda: listed(READINGS, f"S,K,{DIGITS[:9_000]}-{DIGITS},no,5 0 0,5 0 0\n"),
    "an unclosed quote": lambda: listed('range,color,class\n"', "S,K,3\n"),
}
LESSON, COLOR, END = f"{FIRST_LINE}\ntitle: T\npaper: P\n", "color: c\n", "xyz: 20 20 20\n"
lesson = partial(filled, size=allowed_sizes.LESSON)
LESSONS: dict[str, Make] = {
    "within: notes of a color": (LESSON + COLOR + "note: a\n" * 4_900 + END).encode,
    "within: spectra of the paper": lambda: lesson(
        LESSON, f"paper spectrum:{' 1' * 36}\n", COLOR + END
    ),
    "within: shares": lambda: lesson(LESSON + COLOR, "share:1\n", END),
    "within: blank lines": lambda: lesson(LESSON, "\n", COLOR + END),
    "too large": lambda: filled(LESSON + COLOR, "note: a\n", size=20_000_000),
    "notes of a color": lambda: lesson(LESSON + COLOR, "note: a\n", END),
    "notes of a lesson": lambda: lesson(LESSON, "note: a\n", COLOR + END),
    "a spectrum of many numbers": lambda: lesson(LESSON + COLOR + "spectrum:", " 1"),
    "a long title": lambda: lesson(f"{FIRST_LINE}\ntitle: ", "a ", "\n" + COLOR + END),
    "long numbers": lambda: lesson(LESSON + COLOR + "spectrum:", " " + DIGITS),
    "colors": lambda: counted(LESSON, "color: c%d\nxyz: 9 9 9\n", size=allowed_sizes.LESSON),
}
change = partial(filled, size=allowed_sizes.CHANGES)
CHANGES: dict[str, Make] = {
    "within: one merge": lambda: change("merge 1", " 123"),
    "one merge that fails": lambda: change("merge 1", " 1", " x"),
    "a name of colons": lambda: change("passage ", ":", "x"),
    "a name of numbers": lambda: change("passage ", ":1 ", "x"),
    "many lines": lambda: change("", "split 1\n"),
    "too large": lambda: filled("merge 1", " 123", size=20_000_000),
}

KINDS: dict[str, tuple[Read, dict[str, Make]]] = {
    "targets": (lambda data: read_targets(data, source="it"), TARGETS),
    "prices": (lambda data: read_prices(data, source="it"), PRICES),
    "lightfastness": (lambda data: read_lightfastness(data, source="it"), FASTNESS),
    "lessons": (lambda data: read_lesson(data, source="it"), LESSONS),
    "changes": (lambda data: read_changes(data, source="it"), CHANGES),
}
