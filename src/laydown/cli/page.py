"""The option that says on which page a document is printed; the same in every command."""

import click

page_option = click.option(
    "--page",
    type=click.Choice(("A4", "Letter"), case_sensitive=False),
    default="A4",
    show_default=True,
    help="Of a PDF.",
)
