"""What a page offers to choose from: the library's own names."""

from dataclasses import dataclass

from laydown.app.complete_names import names_in
from laydown.app.usual_papers import UsualPapers, usual_papers
from laydown.web.desk import AtLibrary


@dataclass(frozen=True, slots=True)
class Choices:
    """Names to choose from, each sorted, and the paper that is meant unless another is chosen."""

    kits: tuple[str, ...]
    ranges: tuple[str, ...]
    papers: tuple[str, ...]
    usual: UsualPapers

    def paper_for(self, kit: str = "", range_name: str = "") -> str:
        """Return the paper that most of a kit or a range was swatched on; else one's usual."""
        usual = self.usual
        return usual.kits.get(kit) or usual.ranges.get(range_name) or usual.own


def choices_of(library: AtLibrary) -> Choices:
    """Return the names of the kits, ranges and papers there are."""
    kinds = ("kit", "range", "paper")
    kits, ranges, papers = (names_in(library, kind).names for kind in kinds)
    return Choices(kits, ranges, papers, usual_papers(library))
