"""On which paper most of a kit or a range was swatched: it is meant unless another is named."""

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from laydown.app.add_demo import INVENTED
from laydown.store.library import Library

Counts = Mapping[str, Mapping[str, int]]
"""How many swatches use a colorant, by its label and by paper."""


@dataclass(frozen=True, slots=True)
class UsualPapers:
    """The paper with most swatches of each kit and of each range; what has none is left out.

    Parameters
    ----------
    kits, ranges
        Names of papers, by the names of these.
    own
        Of one's own papers the one with most swatches, then of invented ones; empty without any
        paper.
    """

    kits: Mapping[str, str]
    ranges: Mapping[str, str]
    own: str


def usual_papers(library: Library) -> UsualPapers:
    """Return on which papers kits and ranges were swatched most."""
    with library.look() as work:
        counts, papers = work.swatches_by_label(), work.paper_names()
        kits = {kit.name: [c.label for c in kit.colorants] for kit in work.kits()}
    ranges: dict[str, list[str]] = {}
    for label in counts:
        ranges.setdefault(label.rpartition("/")[0], []).append(label)
    everywhere = _sum(counts, counts)

    def worth(paper: str) -> tuple[bool, bool, int]:
        return everywhere[paper] > 0, paper not in INVENTED, everywhere[paper]

    own = max(sorted(papers), key=worth, default="")
    return UsualPapers(_most_of(counts, kits), _most_of(counts, ranges), own)


def _most_of(counts: Counts, labels: Mapping[str, Iterable[str]]) -> dict[str, str]:
    sums = {name: _sum(counts, of) for name, of in labels.items()}
    return {name: max(sorted(one), key=lambda p: one[p]) for name, one in sums.items() if one}


def _sum(counts: Counts, labels: Iterable[str]) -> Counter[str]:
    total: Counter[str] = Counter()
    for label in labels:
        total.update(counts.get(label, {}))
    return total
