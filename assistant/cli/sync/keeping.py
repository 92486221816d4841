"""What whoever keeps the group's server does there: `crumbcall sync prepare` and `release`."""

from pathlib import Path

import click

from assistant.config.home import Home
from assistant.sync.link import Server
from assistant.sync.server.prepare import prepare, release

_server = click.option(
    "--server",
    "address",
    required=True,
    metavar="ADDRESS",
    help="As its owner: postgresql://OWNER@HOST/DATABASE; without a host by the machine's own socket.",
)
_certificate = click.option("--certificate", default="", help="Of whoever signed the server's.")


@click.command("prepare")
@_server
@_certificate
@click.pass_obj
def prepare_command(home: Home, address: str, certificate: str) -> None:
    """Make the group's tables on a server, or bring them to today's; stations may be sending meanwhile.

    Example: crumbcall sync prepare --server postgresql://postgres@/crumbcall
    """
    before, now = prepare(_read(home, address, certificate))
    click.echo(f"Ready, at step {now}{f' (it was {before})' if before not in ('', now) else ''}.")


@click.command("release")
@click.argument("station")
@_server
@_certificate
@click.pass_obj
def release_command(home: Home, station: str, address: str, certificate: str) -> None:
    """Free a station's name, for the machine that takes the place of another.

    Example: crumbcall sync release "kitchen one" --server postgresql://postgres@/crumbcall
    """
    release(_read(home, address, certificate), station)
    click.echo(f"{station!r} is free: the next installation that comes with this name owns it.")


def _read(home: Home, address: str, certificate: str) -> Server:
    # An option is relative to where it was typed, the password file is where the station's is.
    return Server.read(address, str(Path(certificate).absolute()) if certificate else "", home.config)
