"""Measure the house: how much there is, how it is cut up, and what a change would touch.

``python tools/measure_house.py`` prints one line a measure, for the tree it stands in. What is
counted as code: lines that hold more than comments and docstrings.
"""

import ast
import io
import tokenize
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

SRC = Path(__file__).parent.parent / "src" / "laydown"
NO_CODE = {
    tokenize.COMMENT,
    tokenize.NL,
    tokenize.NEWLINE,
    tokenize.INDENT,
    tokenize.DEDENT,
    tokenize.ENDMARKER,
}
CHANGES = {
    "a swatch field": "dilution",
    "an option of match": "k_L",
    "a chart column": "mud",
    "a medium": "Medium.WASH",
}
"""For each kind of change, a word that stands wherever the like of it would have to be written."""


@dataclass(frozen=True, slots=True)
class Module:
    """A file of the house, read once."""

    path: Path
    text: str
    tree: ast.Module

    @property
    def docstring_lines(self) -> set[int]:
        """The lines that docstrings take: of modules, classes, functions, fields and constants."""
        return {
            line
            for node in ast.walk(self.tree)
            if isinstance(node, ast.Expr)
            and isinstance(node.value, ast.Constant)
            and isinstance(node.value.value, str)
            for line in range(node.lineno, (node.end_lineno or 0) + 1)
        }

    @property
    def code(self) -> int:
        """How many lines hold code."""
        tokens = tokenize.generate_tokens(io.StringIO(self.text).readline)
        return len({t.start[0] for t in tokens if t.type not in NO_CODE} - self.docstring_lines)

    @property
    def imports(self) -> int:
        """How many lines hold imports."""
        found = [n for n in ast.walk(self.tree) if isinstance(n, ast.Import | ast.ImportFrom)]
        return sum((n.end_lineno or n.lineno) - n.lineno + 1 for n in found)

    @property
    def comments(self) -> int:
        """How many lines hold nothing but a comment."""
        return sum(line.lstrip().startswith("#") for line in self.text.splitlines())

    def classes(self) -> Iterator[ast.ClassDef]:
        """Give the classes that it defines."""
        return (node for node in ast.walk(self.tree) if isinstance(node, ast.ClassDef))

    def decorated(self, word: str) -> int:
        """Count the functions and classes with a decorator that holds a word."""
        kinds = (ast.ClassDef, ast.FunctionDef)
        nodes = [n for n in ast.walk(self.tree) if isinstance(n, kinds)]
        return sum(any(word in ast.unparse(d) for d in n.decorator_list) for n in nodes)


def fields_of(node: ast.ClassDef) -> frozenset[tuple[str, str]]:
    """Return the fields of a dataclass by name and type."""
    return frozenset(
        (ast.unparse(item.target), ast.unparse(item.annotation))
        for item in node.body
        if isinstance(item, ast.AnnAssign)
    )


def mirrors(modules: list[Module]) -> int:
    """Count the dataclasses all of whose fields, three or more, another has as well."""
    kept = [
        fields_of(node)
        for module in modules
        for node in module.classes()
        if any("dataclass" in ast.unparse(d) for d in node.decorator_list)
    ]
    return sum(
        len(own) >= 3 and any(own <= other for place, other in enumerate(kept) if place != here)
        for here, own in enumerate(kept)
    )


def main() -> None:
    """Print the measures."""
    paths = sorted(SRC.rglob("*.py"))
    texts = [path.read_text(encoding="utf-8") for path in paths]
    modules = [Module(p, t, ast.parse(t)) for p, t in zip(paths, texts, strict=True)]
    code = sum(module.code for module in modules)
    dataclasses = sum(module.decorated("dataclass") for module in modules)
    names = Counter(node.name for module in modules for node in module.classes())
    rooms = Counter(module.path.parent for module in modules)
    print(f"files                          {len(modules)}")
    print(f"lines, of code                 {sum(t.count(chr(10)) for t in texts)}, {code}")
    print(f"dataclasses per 1,000 of code  {1000 * dataclasses / code:.1f} ({dataclasses})")
    print(f"dataclasses within another     {mirrors(modules)}")
    print(f"imports, of code               {sum(m.imports for m in modules) / code:.1%}")
    print(f"class names of two things      {sum(n > 1 for n in names.values())}")
    print(f"largest room                   {max(rooms.values())} files")
    print(f"lines that are comments        {sum(m.comments for m in modules)}")
    print(f"compiled functions             {sum(m.decorated('compiled') for m in modules)}")
    for change, word in CHANGES.items():
        naming = sum(word in module.text for module in modules)
        print(f"files that name {change:<19} {naming}: {word}")


if __name__ == "__main__":
    main()
