"""Compile the search once, while the sources are checked, not in each process of the tests."""

from laydown.cli.main import use_compiled_cache
from laydown.match.search.tables import warm_up

if __name__ == "__main__":
    use_compiled_cache()
    warm_up()
