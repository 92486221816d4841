"""A station and its group, from its home folder and settings."""

from collections.abc import Callable
from contextlib import closing

from assistant.app.adapters import real_clock
from assistant.config.home import Home
from assistant.config.settings import Settings
from assistant.errors import SyncError
from assistant.journal.store import SqliteJournal
from assistant.ports import Clock
from assistant.sync.group_lots import GroupLots, OwnLots
from assistant.sync.link import Server
from assistant.sync.member import member
from assistant.sync.rounds import Group, Looking

NO_SERVER = (
    "No server is named, so this station has no group and needs none; to join one write "
    '[sync] server = "postgresql://ACCOUNT@HOST/DATABASE" into {file}.'
)


def group_of(home: Home, settings: Settings) -> Group:
    """The group that the settings name. Raises SyncError where they name none."""
    chosen = settings.sync
    if not chosen.server:
        raise SyncError(NO_SERVER.format(file=home.settings_file))
    server = Server.read(chosen.server, chosen.certificate, home.config)
    return Group(server, member(settings.station.id, home.data), home.journal_file, home.group_file)


def looking(home: Home, settings: Settings, clock: Clock, tell: Callable[[str], None]) -> Looking:
    """What looks at the group's server again and again, beside the station or alone."""
    return Looking(lambda: group_of(home, settings), settings.sync.every_s, clock.wall, tell)


def lots_of(home: Home, settings: Settings, journal: OwnLots) -> OwnLots:
    """What is known of lots: by the journal alone, or by all stations of the group where there is one."""
    return GroupLots(journal, home.group_file) if settings.sync.server else journal


def make_derived(group: Group) -> int:
    """Make what is derived from the decisions of a journal that was restored; how many batches there are."""
    with closing(SqliteJournal.open(group.journal, real_clock(), group.me.name)) as opened:
        state, _ = opened.load()
    return state.last_batch
