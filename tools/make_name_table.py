"""Write the table of ISCC–NBS color names from the Debian package libcolor-library-perl.

Run as ``python tools/make_name_table.py PATH``, where PATH is the package's file
Color/Library/Dictionary/NBS_ISCC.pm. Only the names and the centroids' screen colors are read.
"""

import csv
import re
import sys
from pathlib import Path

from laydown.color.screen import lab_from_hex

TABLE = Path(__file__).parent.parent / "src" / "laydown" / "reference" / "color_names.csv"
LISTED = re.compile(r"^\t(?P<name>\S.*?)\s+[a-z]+\s+(?P<screen>#[0-9a-f]{6})\s*$", re.MULTILINE)


def main(source: Path) -> None:
    """Read the dictionary and write names with their CIELAB."""
    found = LISTED.findall(source.read_text(encoding="utf-8"))
    rows = [
        [name.lower(), screen, *(f"{v:.2f}" for v in lab_from_hex(screen).round(2) + 0.0)]
        for name, screen in sorted(found)
    ]
    if len(rows) != 267:
        sys.exit(f"{len(rows)} names were found, not 267")
    with TABLE.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerows([["name", "screen", "L", "a", "b"], *rows])


if __name__ == "__main__":
    main(Path(sys.argv[1]))
