"""``laydown serve``: the bench, in the browser of this computer."""

import click

from laydown.cli.commands import verb
from laydown.cli.console import say
from laydown.cli.settings import settings


@verb("serve", tasks=[], example="laydown serve")
@click.option(
    "--port",
    type=click.IntRange(0, 65535),
    default=8017,
    show_default=True,
    help="Where to listen; 0 takes any free port.",
)
@click.option("--no-browser", is_flag=True, help="Don't open the browser.")
def serve(*, port: int, no_browser: bool) -> None:
    """Open the bench, a web app on this computer alone.

    It answers only to this computer's own browser, and nothing leaves the computer. Ctrl-C closes
    it; all that was done is in the library.
    """
    from laydown.app.compiled_cache import use_compiled_cache

    use_compiled_cache()
    from laydown.web.serving import serve as open_bench

    open_bench(settings().library, port=port, browser=not no_browser, say=say)
