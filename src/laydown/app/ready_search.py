"""Make the search ready to run: it is compiled on its first use on a machine."""

from laydown.match.compiling import announcing
from laydown.match.ready import is_compiled, warm_up

__all__ = ["announcing", "is_compiled", "warm_up"]
