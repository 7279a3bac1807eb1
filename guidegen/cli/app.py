"""The group of commands and what happens to errors: one line on stderr, no traceback."""

from __future__ import annotations

import errno
import importlib
import os
import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any, NamedTuple

import click

from guidegen import __version__
from guidegen.cli.codes import BAD_INPUT, INTERRUPTED, OUR_FAULT, READER_LEFT
from guidegen.cli.commands import COMMANDS
from guidegen.cli.given import GivenPath
from guidegen.cli.wording import in_options
from guidegen.errors import GuidegenError, bad_input, did_you_mean, one_line

_WORDS = "guidegen.words"
"""Where a context keeps the words of the command line."""
_AT_SUCCESS = "guidegen.at_success"
"""Where it keeps what :func:`at_success` was given."""


class Settings(NamedTuple):
    """What the options before the command say, and whether the person's usual settings hold."""

    markers_folder: Path | None = None
    usual: bool = True


class Interrupted(Exception):  # noqa: N818  # not an error
    """Ctrl-C or another signal to stop, carried past click, which would print an empty line on its way out."""


class ReaderGone(Exception):  # noqa: N818
    """The reader of our output left, carried past click, which would leave with 1."""


@contextmanager
def _past_click() -> Iterator[None]:
    try:
        yield
    except KeyboardInterrupt as stopped:
        raise Interrupted(*stopped.args) from None
    except BrokenPipeError:
        raise ReaderGone from None


def at_success(work: Callable[[], None]) -> None:
    """Have something done once the command that runs has done its own work, and never when that fails."""
    click.get_current_context().meta.setdefault(_AT_SUCCESS, []).append(work)


def _kept(ctx: click.Context, told: str) -> str:
    """Return where a value came from that nobody gave: from the usual settings."""
    kept = (ctx.default_map or {}).get(ctx.invoked_subcommand or "", {})
    for key in kept:
        option = f"--{key.replace('_', '-')}"
        given = any(word == option or word.startswith(f"{option}=") for word in ctx.meta[_WORDS])
        if not given and told.startswith((f"{option}: ", f"{key}: ")):
            return f"; it is one of your usual settings: `guidegen usual --forget {option[2:]}`"
    return ""


class LazyGroup(click.Group):
    """A group whose commands are imported when they are called; the table knows their help lines."""

    def list_commands(self, ctx: click.Context) -> list[str]:  # noqa: ARG002
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:  # noqa: ARG002
        if cmd_name not in COMMANDS:
            return None
        module, function = COMMANDS[cmd_name][0].split(":")
        command = getattr(importlib.import_module(module), function)
        assert isinstance(command, click.Command), f"{module}:{function} is no click command"
        return command

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        if args[0] not in COMMANDS:
            fix = did_you_mean(args[0], COMMANDS) or "`guidegen --help` lists them"
            raise bad_input("guidegen", "", args[0], "a command", fix)
        return super().resolve_command(ctx, args)

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:  # noqa: ARG002
        with formatter.section("Commands"):
            formatter.write_dl([(name, text) for name, (_, text) in COMMANDS.items()])

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        ctx.meta[_WORDS] = tuple(args)
        return super().parse_args(ctx, args)

    def invoke(self, ctx: click.Context) -> Any:
        try:
            with _past_click():
                result = super().invoke(ctx)
                for work in ctx.meta.get(_AT_SUCCESS, ()):
                    work()
                return result
        except GuidegenError as error:
            command = self.get_command(ctx, ctx.invoked_subcommand or "")
            told = in_options(str(error), command.params if command else ())
            raise GuidegenError(told + _kept(ctx, told)) from error
        except click.BadParameter as error:
            kept = _kept(ctx, f"{error.param.opts[0]}: " if error.param else "")
            if not kept:
                raise
            told = error.message.rstrip(".") + kept
            raise click.BadParameter(told, error.ctx, error.param, error.param_hint) from None

    def make_context(self, *args: Any, **kwargs: Any) -> click.Context:
        with _past_click():
            return super().make_context(*args, **kwargs)


@click.command(
    cls=LazyGroup,
    invoke_without_command=True,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
    epilog="Every command explains itself with examples: guidegen sheet --help",
)
@click.option(
    "--markers",
    "markers_folder",
    type=GivenPath(file_okay=False, path_type=Path),
    help="A folder of marker profiles, looked up before your own and the built-in ones.",
)
@click.version_option(__version__, message="guidegen %(version)s")
@click.pass_context
def cli(ctx: click.Context, markers_folder: Path | None) -> None:
    """Right sizes, guideline sheets and sample letters for the marker in your hand, at true scale.

    MARKER is a profile's name (guidegen markers lists them) or a path to a .toml file. Lengths take mm, cm,
    in or pt; a bare number is mm.

    \b
    Examples:
      guidegen demo
      guidegen sheet cobble -o cobble.pdf
      guidegen size --downstroke 3.2 --hairline 0.6
    """
    use_usual = ctx.obj is None or ctx.obj.usual
    ctx.obj = Settings(markers_folder, use_usual)
    if ctx.invoked_subcommand is None:
        click.echo(ctx.get_help())
    elif use_usual:
        from guidegen.cli.usuals import usuals_of

        ctx.default_map = {ctx.invoked_subcommand: usuals_of(ctx.invoked_subcommand)}


def run(arguments: Sequence[str], *, usual: bool = True) -> int:
    """Run the command line and return its exit code; tell errors in one line on stderr.

    0 done, 1 a check that was asked for failed, 2 bad input or a file that cannot be read or written,
    70 a defect of ours (``GUIDEGEN_DEBUG=1`` shows where), 130 Ctrl-C, 141 the reader of a pipe went away. Without
    ``usual`` the person's own settings are not read.
    """
    try:
        result = cli.main(args=list(arguments), prog_name="guidegen", standalone_mode=False, obj=Settings(usual=usual))
        sys.stdout.flush()
    except GuidegenError as error:
        return _tell(str(error), BAD_INPUT)
    except click.UsageError as error:
        return _tell(_usage_line(error), BAD_INPUT)
    except click.ClickException as error:
        return _tell(error.format_message(), BAD_INPUT)
    except (Interrupted, KeyboardInterrupt, click.Abort) as stopped:
        code = stopped.args[0] if stopped.args and isinstance(stopped.args[0], int) else INTERRUPTED
        return _tell("stopped; no file was left half written", code)
    except (ReaderGone, BrokenPipeError):
        _silence_stdout()
        return READER_LEFT
    except OSError as error:
        _silence_stdout()
        return _tell(_os_line(error), BAD_INPUT)
    except MemoryError:
        return _tell("not enough memory for this; try fewer pages or a smaller --ppi", BAD_INPUT)
    except Exception as error:
        if os.environ.get("GUIDEGEN_DEBUG"):
            raise
        return _tell(f"a defect in guidegen, not in your input: {type(error).__name__}: {error}", OUR_FAULT)
    return result if isinstance(result, int) else 0


def _tell(message: str, code: int) -> int:
    click.echo(f"guidegen: {one_line(message, 600)}", err=True)
    return code


def _usage_line(error: click.UsageError) -> str:
    message = error.format_message().rstrip(".")
    command = error.ctx.command_path if error.ctx else "guidegen"
    return f"{message}; see `{command} --help`"


def _os_line(error: OSError) -> str:
    what = error.strerror or str(error)
    if error.errno == errno.ENOSPC:
        what = "the disk is full; no file was left half written"
    place = error.filename2 or error.filename
    if not place and error.errno == errno.ENOENT and not _folder_is_there():
        return "the current folder no longer exists; change to another one"
    return f"{place}: {what}" if place else what


def _folder_is_there() -> bool:
    try:
        Path.cwd()
    except OSError:
        return False
    return True


def _silence_stdout() -> None:
    """Point stdout at nothing, so that Python's last flush cannot fail a second time."""
    try:
        nothing = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nothing, sys.stdout.fileno())
        os.close(nothing)
    except (OSError, ValueError):
        pass
