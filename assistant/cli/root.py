"""The group that all commands hang on; a command's module is imported when it is called."""

import importlib
from pathlib import Path

import click

from assistant import __version__
from assistant.config.home import Home

_MODULES = {
    "rehearse": "rehearse",
    "listen": "listen",
    "type": "type",
    "hear": "hear",
    "parse": "hear",
    "batches": "record.batches",
    "sheet": "record.batches",
    "ledger": "record.ledger",
    "sync": "sync.command",
    "model": "model",
    "setup": "setting_up.command",
    "support": "setting_up.support",
    "check": "check.command",
    "words": "words.command",
    "scale": "scale",
    "dough": "dough.command",
    "lots": "record.lots",
    "label": "record.label",
    "allergens": "allergens",
    "plan": "planning.command",
    "card": "wall.card",
    "board": "wall.board",
    "hearing-test": "hearing_test",
    "bench": "bench",
}
_OLD_NAMES = {"journal": "ledger"}
"""Name that a command had -> its name: it goes on working, and is not listed."""


class _Lazy(click.Group):
    """Imports the module of a command only when it is wanted, so that `--help` stays quick."""

    def list_commands(self, ctx: click.Context) -> list[str]:  # noqa: ARG002
        return list(_MODULES)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:  # noqa: ARG002
        name = _OLD_NAMES.get(cmd_name, cmd_name)
        if name not in _MODULES:
            return None
        module = importlib.import_module(f"assistant.cli.{_MODULES[name]}")
        command: click.Command = getattr(module, f"{name.replace('-', '_')}_command")
        return command


@click.group(cls=_Lazy, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, message="crumbcall %(version)s")
@click.option(
    "--home",
    type=click.Path(path_type=Path, file_okay=False),
    envvar="CRUMBCALL_HOME",
    help="Folder with settings, journal and models (default: the XDG folders).",
)
@click.pass_context
def crumbcall(context: click.Context, home: Path | None) -> None:
    """Crumbcall calls the crumb: it hears a pasta cook, keeps the water account and times the batch.

    Example: crumbcall rehearse
    """
    context.obj = Home.find(home)
