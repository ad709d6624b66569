"""Making the search ready, and saying when it has to be compiled first."""

from laydown.match.search.compiling import announcing
from laydown.match.search.ready import is_compiled, warm_up

__all__ = ["announcing", "is_compiled", "warm_up"]
