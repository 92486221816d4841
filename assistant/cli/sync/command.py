"""`crumbcall sync`: the memory that a group of stations shares in a PostgreSQL."""

from threading import Event

import click

from assistant.app.adapters import real_clock
from assistant.app.group.membership import group_of, looking, make_derived
from assistant.app.group.shared_files import give, take_over
from assistant.cli.sync.keeping import prepare_command, release_command
from assistant.config.home import Home
from assistant.config.settings import Settings
from assistant.errors import SyncError
from assistant.journal.decision_rows import DecisionReader
from assistant.sync.group_file import GroupFile
from assistant.sync.link import connect
from assistant.sync.restoring import restore_journal
from assistant.sync.rounds import look
from assistant.sync.sending import check_version, claim


@click.group("sync", invoke_without_command=True)
@click.pass_context
def sync_command(context: click.Context) -> None:
    """Share one memory with the other stations of a group: send what is new, fetch what they know.

    Example: crumbcall sync
    """
    if context.invoked_subcommand is not None:
        return
    home: Home = context.obj
    done = look(group_of(home, Settings.load(home.settings_file)))
    click.echo(f"{done.sent} decisions sent, the server has {done.last}; {done.came} batches of others came.")
    if done.newer:
        click.echo(f"Newer in the group: {', '.join(done.newer)}; crumbcall sync join takes them over.")


@sync_command.command("follow")
@click.pass_obj
def follow(home: Home) -> None:
    """Look at the group's server again and again, until Ctrl-C: for a service of its own.

    Example: crumbcall sync follow
    """
    settings = Settings.load(home.settings_file)
    group_of(home, settings)  # what can't be used is reported at once
    stop = Event()
    try:
        looking(home, settings, real_clock(), lambda line: click.echo(line, err=True)).run(stop)
    finally:
        stop.set()


@sync_command.command("status")
@click.pass_obj
def status(home: Home) -> None:
    """Say how the last look at the server went; asks nobody.

    Example: crumbcall sync status
    """
    group = group_of(home, Settings.load(home.settings_file))
    have = 0
    if group.journal.is_file():
        with DecisionReader.open(group.journal) as journal:
            have = journal.last_decision()
    with GroupFile(group.copy) as copy:
        found, others = copy.status(), copy.cursors()
    ago = real_clock().wall() - found.at
    when = f"{ago / 60:.0f} minutes ago" if found.at else "never"
    click.echo(f"{group.me.name} in {group.server.name}: last reached {when}.")
    click.echo(f"{found.sent} of {have} decisions are there; flour of {len(others)} other stations is here.")
    if found.newer:
        click.echo(f"Newer in the group: {', '.join(found.newer)}; crumbcall sync join takes them over.")
    if found.problem:
        click.echo(found.problem)


@sync_command.command("join")
@click.option("--replace", is_flag=True, help="Also what says otherwise here; yours is kept as FILE.before.")
@click.pass_obj
def join(home: Home, replace: bool) -> None:
    """Take over lots, recipes, ingredients, allergens, words and settings of the group.

    Example: crumbcall sync join
    """
    taken = take_over(home, group_of(home, Settings.load(home.settings_file)), replace=replace)
    for one in taken.files:
        click.echo(f"{one.name}: version {one.version}, by {one.station}.")
    if taken.kept:
        click.echo(f"Stays as it is here: {', '.join(taken.kept)}; with --replace the group's count.")
    if not taken.files and not taken.kept:
        click.echo("All is here as it is in the group.")
    elif taken.files:
        click.echo("A running station goes by them from its next start on.")


@sync_command.command("share")
@click.option("--over", is_flag=True, help="Also where the group has newer ones that were not taken over.")
@click.pass_obj
def share(home: Home, over: bool) -> None:
    """Give the group this station's lots, recipes, ingredients, allergens, words and settings of the work.

    Example: crumbcall sync share
    """
    given = give(home, group_of(home, Settings.load(home.settings_file)), over=over)
    click.echo(f"Given: {', '.join(given)}." if given else "The group has all of it already.")


@sync_command.command("restore")
@click.pass_obj
def restore(home: Home) -> None:
    """Make the journal of a replaced machine anew, from what the server has of this station.

    Example: crumbcall sync restore
    """
    group = group_of(home, Settings.load(home.settings_file))
    if group.journal.exists():
        raise SyncError(
            f"{group.journal}: there is a journal already, and it is not overwritten; move it away first."
        )
    with connect(group.server) as link:
        check_version(link, group.server)
        head = claim(link, group.server, group.me)
        decisions, events = restore_journal(link, group.server, head, group.journal)
    batches = make_derived(group)
    click.echo(
        f"{decisions} decisions with {events} events and {batches} batches are here again, "
        "each checked by its chain."
    )


sync_command.add_command(prepare_command)
sync_command.add_command(release_command)
