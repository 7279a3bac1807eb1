"""``usual``: the settings that hold unless a command says otherwise, shown and changed."""

from __future__ import annotations

from typing import Any

import click

from guidegen.cli.given import Given
from guidegen.cli.options import PaperNames, json_option, print_json
from guidegen.cli.params import Length, PageWords
from guidegen.cli.usuals import KEYS, keep, usual_file, usuals
from guidegen.errors import Plain, bad_input, did_you_mean, printable


@click.command()
@click.option("--paper", type=PaperNames(), help="Such as a4, or letter.")
@click.option("--margin", type=Given(), metavar="LEN", help="White on every side.")
@click.option("--guide-style", type=Given(), metavar="fine|grey|copy|#rrggbb", help="How guide lines look.")
@click.option("--hand", type=Given(), metavar="NAME|PATH", help="Where it suits every marker of a command.")
@click.option("--credit", type=PageWords(), help="A line of your own at the foot of each page.")
@click.option("--units", type=click.Choice(["mm", "in"]), help="in: inches stand beside millimetres on any paper.")
@click.option("--printer", type=Given(), metavar="NAME", help="One kept with --measured.")
@click.option("--left-handed/--right-handed", default=None, help="For sheets and worksheets.")
@click.option("--language", type=Given(), metavar="NAME|PATH", help="Of the words on pages.")
@click.option("--forget", multiple=True, type=Given(), metavar="SETTING", help="Go back to what is usual without it.")
@json_option
def usual(forget: tuple[str, ...], as_json: bool, **given: Any) -> None:
    """Keep the settings that hold unless a command says otherwise, and show them.

    The commands for pages read them; demo, batch and scripts do not, so that they give the same everywhere.

    \b
    Examples:
      guidegen usual --paper letter --margin 15mm --language de
      guidegen usual
      guidegen usual --forget margin
    """
    changed = {key: _checked(key, value) for key, value in given.items() if value is not None}
    for name in forget:
        key = name.replace("-", "_")
        if key not in KEYS:
            known = [one.replace("_", "-") for one in KEYS]
            raise bad_input("--forget", "", name, "a setting", did_you_mean(name, known) or ", ".join(known))
        if key in changed:
            raise bad_input("--forget", "", name, "a setting that is not given beside it")
        changed[key] = None
    if changed:
        keep(changed)
    kept = usuals()
    if as_json:
        print_json({"path": str(usual_file()), "usual": kept})
        return
    for key in KEYS:
        if key in kept:
            value = kept[key] if isinstance(kept[key], str) else ("yes" if kept[key] else "no")
            click.echo(f"{key.replace('_', '-'):13}{printable(value)}")
    click.echo(f"kept in {usual_file()}" if kept else "nothing is kept; `guidegen usual --help` lists what may be")


def _checked(key: str, value: Any) -> Any:
    """Return a setting as it is kept, once it is sure that the commands will take it."""
    if key == "paper":
        from guidegen.hands.library import load_paper

        for name in value:
            load_paper(name)
        return ",".join(value)
    if key == "margin":
        Length(0.0, 500.0).convert(value, _param(key), None)
    elif key == "guide_style":
        from guidegen.sheets.parts.look import guide_style

        guide_style(value)
    elif key == "hand":
        from guidegen.hands.library import load_hand

        load_hand(value)
    elif key == "printer":
        from guidegen.hands.own import kept_printer

        kept_printer(value)
    elif key == "language":
        from guidegen.sheets.parts.phrases import phrases

        phrases(value)
    elif key == "credit" and not value:
        raise bad_input("--credit", "", Plain("nothing"), "a line of your own", "--forget credit takes it away")
    return value


def _param(key: str) -> click.Parameter:
    return next(param for param in click.get_current_context().command.params if param.name == key)
