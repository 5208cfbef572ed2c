"""``simsoft explore``: a case with live knobs, in a browser on this machine."""

from __future__ import annotations

import click

from simsoft.cli import complete


@click.command()
@click.argument("case", shell_complete=complete.files)
@click.option(
    "--set",
    "overrides",
    metavar="PATH=VALUE",
    multiple=True,
    help="Change one value.",
    shell_complete=complete.paths,
)
@click.option("--port", type=click.IntRange(0, 65535), default=0, help="In place of a free one.")
@click.option("--no-open", is_flag=True, help="Only print the address; open no browser.")
@click.option("--quiet", is_flag=True, help="No notes on stderr.")
def explore(case: str, overrides: tuple[str, ...], port: int, no_open: bool, quiet: bool) -> int:
    """Turn the knobs of a CASE in a browser; ends with Ctrl-C or when the tab is gone."""
    import webbrowser

    from simsoft.cli.explore_server import ADDRESS, make_server, serve
    from simsoft.cli.explore_service import service_of

    service = service_of(case, overrides)
    server = make_server(service, port)
    url = f"http://{ADDRESS}:{server.server_address[1]}/?token={service.token}"
    click.echo(url)
    if not quiet:
        click.echo("ends with Ctrl-C, or when the tab is closed", err=True)
    if not no_open:
        webbrowser.open(url)
    serve(server, service)
    return 0
