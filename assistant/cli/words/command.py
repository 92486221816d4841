"""`crumbcall words`: list, add, remove and test a kitchen's own phrasings and names."""

from dataclasses import dataclass, replace

import click

from assistant.app.application import Application, open_application
from assistant.app.words.assessing import Bench, built_in_voice, with_phrase, without_said
from assistant.cli.words.report import listing, meanings, sounds
from assistant.config.home import Home
from assistant.config.language.own_words import FILE, OwnRow, OwnWords, checked_sounds, plain
from assistant.config.language.words_file import with_rows, without_row, write_words
from assistant.config.toml_words import did_you_mean
from assistant.errors import GrammarError, SettingsError

NEXT_START = "It counts from the next start of the station."


@click.group("words", invoke_without_command=True)
@click.pass_context
def words_command(context: click.Context) -> None:
    """Add your own phrasings and names, and test how they are heard.

    Example: crumbcall words add "chuck in {amount}" "water {amount}"
    """
    if context.invoked_subcommand is None:
        context.invoke(list_command)


@words_command.command("list")
@click.pass_obj
def list_command(home: Home) -> None:
    """List what this kitchen can say beyond the grammar, and what of it is left out.

    Example: crumbcall words list
    """
    for line in listing(open_application(home).words):
        click.echo(line)


_name = click.option(
    "--name", is_flag=True, help="PHRASE is a name: MEANING is lot R12, timer, shape penne, ..."
)
_sounds = click.option(
    "--sounds",
    multiple=True,
    metavar="[WORD=]PHONES",
    help='How a word sounds, as "ragu=ɹ æ g u"; without WORD= the only new word is meant.',
)
_quick = click.option("--quick", is_flag=True, help="Don't try it by ear.")


@words_command.command("add")
@click.argument("phrase")
@click.argument("meaning")
@_name
@_sounds
@_quick
@click.pass_obj
def add_command(
    home: Home, phrase: str, meaning: str, name: bool, sounds: tuple[str, ...], quick: bool
) -> None:
    """Add a phrase and the sentence that it means, or a name; it is tested first.

    Slots: {amount} {time} {percent} {count} {lot} {recipe} {shape} {timer}.

    Example: crumbcall words add --name "the red bag" "lot R12"
    """
    candidate = _tested(*_candidate(home, phrase, meaning, name=name, sounds=sounds), quick=quick)
    file, row = home.config / FILE, candidate.row
    rows = [("names" if name else "phrases", row.said, " ".join(meaning.split()))]
    write_words(file, with_rows(file, [*rows, *(("sounds", *one) for one in candidate.sounds.items())]))
    click.echo(f"Written to {file}. {NEXT_START}")


@words_command.command("remove")
@click.argument("phrase")
@click.pass_obj
def remove_command(home: Home, phrase: str) -> None:
    """Take a phrase or a name out again.

    Example: crumbcall words remove "chuck in {amount}"
    """
    file = home.config / FILE
    text = without_row(file, plain(phrase))
    if text is None:
        words = open_application(home).words.file
        known = [row.said for row in (*words.phrases, *words.names)]
        hint = did_you_mean(plain(phrase), known) if known else "none is there."
        raise SettingsError(f'{file}: there is no "{plain(phrase)}"; {hint}')
    write_words(file, text)
    click.echo(f'"{plain(phrase)}" is out of {file}. {NEXT_START}')


@words_command.command("test")
@click.argument("phrase", required=False)
@click.argument("meaning", required=False)
@_name
@_sounds
@_quick
@click.pass_obj
def test_command(
    home: Home, phrase: str | None, meaning: str | None, name: bool, sounds: tuple[str, ...], quick: bool
) -> None:
    """Test a phrase before it is added; without one, all that are there.

    Example: crumbcall words test "that's her in" "water"
    """
    if phrase is None:
        _test_all(home, quick=quick)
        return
    if meaning is None:
        raise SettingsError('The meaning is missing; write it behind the phrase, as "water {amount}".')
    _tested(*_candidate(home, phrase, meaning, name=name, sounds=sounds), quick=quick)


@dataclass(frozen=True, slots=True)
class _Candidate:
    """A row that may be added."""

    app: Application
    file: OwnWords
    """The own words without it."""
    row: OwnRow
    name: bool
    sounds: dict[str, tuple[str, ...]]
    """Pronunciations that come with it."""

    def bench(self) -> Bench:
        """The stations without it and with it."""
        added = with_phrase(self.file, self.row, name=self.name, sounds=self.sounds)
        return Bench(self.app, self.file, added)


def _candidate(
    home: Home, phrase: str, meaning: str, *, name: bool, sounds: tuple[str, ...]
) -> tuple[_Candidate, Bench]:
    """A row that can be used, with the stations without it and with it. Raises its refusal."""
    app = open_application(home)
    row = OwnRow(plain(phrase), plain(meaning), f'"{plain(phrase)}"')
    found = _Candidate(app, without_said(app.words.file, row.said), row, name, _spelled(sounds))
    bench = found.bench()
    if bench.refused:
        raise GrammarError(bench.refused[0])
    if "" not in found.sounds:
        return found, bench
    new = bench.new_words(bench.samples([row.said]))
    if len(new) != 1:
        raise SettingsError(f"--sounds: its new words are {', '.join(new) or 'none'}; write WORD=PHONES.")
    found = replace(found, sounds={word or new[0]: ways for word, ways in found.sounds.items()})
    return found, found.bench()


def _spelled(sounds: tuple[str, ...]) -> dict[str, tuple[str, ...]]:
    """Pronunciations of `--sounds` by their words; "" where none is named. Raises SettingsError."""
    found: dict[str, tuple[str, ...]] = {}
    for one in sounds:
        word, _, phones = one.rpartition("=")
        try:
            found[plain(word)] = (*found.get(plain(word), ()), *checked_sounds([phones]))
        except SettingsError as problem:
            raise SettingsError(f"--sounds {one}: {problem}") from None
    return found


def _tested(candidate: _Candidate, bench: Bench, *, quick: bool) -> _Candidate:
    """Print what a row sounds like and how it is heard; with pronunciations where these help."""
    samples = bench.samples([candidate.row.said])
    for line in meanings(samples):
        click.echo(line)
    found = bench.assess(samples, None if quick else built_in_voice)
    if found.trial is not None and found.trial.right < found.trial.of and not candidate.sounds:
        spelled = bench.spellings(samples, built_in_voice)
        other = replace(candidate, sounds=spelled)
        again = other.bench().assess(samples, built_in_voice)
        if spelled and again.trial is not None and again.trial.gain > found.trial.gain:
            candidate, found = other, again
            for word, ways in spelled.items():
                click.echo(f'Heard better with "{word}" as {" or ".join(ways)}.')
    for line in sounds(found):
        click.echo(line)
    return candidate


def _test_all(home: Home, *, quick: bool) -> None:
    """Every phrase and name that is there, each against a station without it."""
    app = open_application(home)
    words = app.words
    said = [phrase.said for phrase in words.woven.phrases] + [name.said for name in words.woven.names]
    for one in said:
        bench = Bench(app, without_said(words.file, one), words.file)
        click.echo(f'"{one}"')
        found = bench.assess(bench.samples([one]), None if quick else built_in_voice)
        for line in sounds(found):
            click.echo(f"  {line}")
    problems = (*words.problems, *words.woven.unsayable)
    for problem in problems:
        click.echo(f"left out: {problem}")
    if not said and not problems:
        click.echo("There are no own words to test.")
