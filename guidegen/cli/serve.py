"""``serve``: the page in the browser, until it is told to stop."""

from __future__ import annotations

import re

import click

from guidegen.cli.params import Whole
from guidegen.errors import bad_input

_HOST = re.compile(r"[a-z0-9.:\[\]-]{1,253}", re.ASCII | re.IGNORECASE)


class Host(click.ParamType):
    """The name or number by which a computer is reached."""

    name = "host"

    def convert(self, value: str, param: click.Parameter | None, ctx: click.Context | None) -> str:  # noqa: ARG002
        if not _HOST.fullmatch(value):
            raise bad_input("--host", "", value, "the name of a computer, such as letters.school.example")
        return value.lower()


@click.command()
@click.option("--port", type=Whole(0, 65535), default=8017, show_default=True, help="Where it listens; 0 is any free.")
@click.option("--open", "opens", is_flag=True, help="Open it in the browser.")
@click.option("--public", is_flag=True, help="For many: nothing is written, and nobody's own markers are shown.")
@click.option(
    "--host",
    "hosts",
    type=Host(),
    multiple=True,
    metavar="NAME",
    help="A name it is reached by behind a web server; without it only this computer is answered.",
)
@click.pass_context
def serve(ctx: click.Context, port: int, opens: bool, public: bool, hosts: tuple[str, ...]) -> None:
    """Do the main job in a browser: pick a marker, see its letter at true size, take what you need.

    It listens on 127.0.0.1 only, and loads nothing from elsewhere. Ctrl-C ends it.

    \b
    Examples:
      guidegen serve --open
      guidegen serve --port 8000 --public --host letters.school.example
    """
    from guidegen.web.serving import run
    from guidegen.web.settings import ServeSettings

    def ready(address: str) -> None:
        click.echo(address)
        if opens:
            import webbrowser

            webbrowser.open(address)

    folder = ctx.find_root().obj.markers_folder
    run(ServeSettings(public=public, hosts=hosts, markers_folder=folder), port, ready)
