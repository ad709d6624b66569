"""Write reference/marker_bits.csv: the bits of the square markers that sheets use.

Run: python tools/make_marker_bits.py
"""

from pathlib import Path

import cv2

TABLE = Path(__file__).parent.parent / "src" / "laydown" / "reference" / "marker_bits.csv"
SIDE = 4


def rows() -> list[str]:
    """Return one line per marker: its id and its sixteen inner modules, 1 = white."""
    dictionary = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_250)
    lines = ["id,white"]
    for marker in range(len(dictionary.bytesList)):
        image = cv2.aruco.generateImageMarker(dictionary, marker, SIDE + 2)
        inner = image[1:-1, 1:-1].ravel()
        lines.append(f"{marker},{''.join('1' if module else '0' for module in inner)}")
    return lines


def main() -> None:
    """Write the table."""
    TABLE.write_text("\n".join(rows()) + "\n", encoding="utf-8", newline="\n")
    print(f"{TABLE.name}: {len(rows()) - 1} markers")


if __name__ == "__main__":
    main()
