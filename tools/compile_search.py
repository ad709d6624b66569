"""Compile the search once, while the sources are checked, not in each process of the tests."""

from laydown.cli.main import use_compiled_cache

if __name__ == "__main__":
    use_compiled_cache()
    # Only now: what is compiled is kept where numba was told to when it was first imported.
    from laydown.match.search.tables import warm_up

    warm_up()
