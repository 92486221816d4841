"""How a station stands with its group: by the last look at the server; nobody is asked."""

from assistant.app.adapters import real_clock
from assistant.app.application import Application
from assistant.app.group.membership import group_of
from assistant.cli.check.finding import Finding
from assistant.errors import CrumbcallError
from assistant.journal.decision_rows import DecisionReader
from assistant.sync.group_file import GroupFile

_LOOK = "crumbcall sync looks now, and says what is wrong; the station works without it."


def group_part(app: Application) -> list[Finding]:
    """One finding where the settings name a group's server, none where they do not."""
    if not app.settings.sync.server:
        return []
    try:
        works, found = _standing(app)
    except CrumbcallError as error:
        works, found = False, str(error)
    return [Finding(part="group", works=works, needed=False, found=found, do=_LOOK)]


def _standing(app: Application) -> tuple[bool, str]:
    group, have = group_of(app.home, app.settings), 0
    if group.journal.is_file():
        with DecisionReader.open(group.journal) as journal:
            have = journal.last_decision()
    with GroupFile(group.copy) as copy:
        last, others = copy.status(), len(copy.cursors())
    if last.problem:
        return False, last.problem
    if not last.at:
        return False, f"{group.server.name} was never reached"
    minutes = (real_clock().wall() - last.at) / 60
    return True, (
        f"{group.server.name}, reached {minutes:.0f} minutes ago; {last.sent} of {have} decisions are there, "
        f"flour of {others} other stations is here"
    )
