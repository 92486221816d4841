"""Documentation that can fail: made parts are up to date; named paths, commands and figures exist."""

import re
import shlex
from collections.abc import Iterator

import click
import pytest

from assistant.batch.record.rules import BatchRules
from assistant.cli import crumbcall
from tests.test_project import TRACKED
from tests.write_docs import PARTS, ROOT, part_in

DOCUMENTS = [name for name in TRACKED if name.endswith(".md")]
MOST_LINES_OF_README = 150

# What documents name and a checkout lacks, and why.
NOT_HERE = {
    "rehearsal/": "`crumbcall rehearse` makes it",
    "hama/assets/asr_waveform.hama": "in another package",
    ".venv/bin/": "hardware/setup.sh makes it",
}

# Not a path of this tree: a whole one of some machine, a placeholder, a unit, a package of npm.
_ELSEWHERE = re.compile(r"^[/~$@]|<\w+>|\b[A-Z]{3,}\b|://|\*|^[\d.]+/")
_PATH = re.compile(r"[\w.@~<$/-]+/[\w./*<>-]*")


def document(name: str) -> str:
    return (ROOT / name).read_text(encoding="utf-8")


def code(text: str) -> Iterator[str]:
    """What is written as code: in backticks on one line or broken over two, and in indented lines."""
    without_blocks = re.sub(r"```.*?```", "", text, flags=re.DOTALL)
    for found in re.findall(r"`([^`]+)`", without_blocks):
        yield " ".join(found.split())
    for line in without_blocks.splitlines():
        if re.match(r" {4,}\S", line):
            yield line.partition("#")[0].strip()


def commands(text: str) -> Iterator[list[str]]:
    """Words of every command of the program that is written as code, from its name on."""
    for written in code(text):
        for part in re.split(r"&&|\||;", written):
            if "crumbcall" not in part:
                continue
            words = shlex.split(part)
            at = next((i for i, word in enumerate(words) if word.rpartition("/")[2] == "crumbcall"), None)
            if at is not None and len(words) > at + 1 and (at == 0 or words[0] in ("sudo", "printf")):
                yield words[at + 1 :]


# --- what is made by the program


@pytest.mark.parametrize("name", PARTS)
def test_a_part_made_from_the_program_is_up_to_date(name: str) -> None:
    file, make = PARTS[name]
    found = part_in((ROOT / file).read_text(encoding="utf-8"), name)
    assert found == make(), f"{file}: {name} is out of date; run `python -m tests.write_docs`"


# --- what is named


@pytest.mark.parametrize("name", DOCUMENTS)
def test_every_link_leads_somewhere(name: str) -> None:
    folder = (ROOT / name).parent
    text = document(name)
    for target in [*re.findall(r"\]\(([^)#\s]+)[^)]*\)", text), *re.findall(r'src="([^"]+)"', text)]:
        assert "://" in target or (folder / target).exists(), f"{name}: {target}"


@pytest.mark.parametrize("name", DOCUMENTS)
def test_every_path_exists(name: str) -> None:
    places = (ROOT, (ROOT / name).parent, ROOT / "assistant")
    missing = [
        written
        for written in code(document(name))
        if _PATH.fullmatch(written)
        and not _ELSEWHERE.search(written)
        and not written.startswith(tuple(NOT_HERE))
        and not any((place / written).exists() for place in places)
    ]
    assert missing == []


@pytest.mark.parametrize("name", DOCUMENTS)
def test_every_module_that_is_run_exists(name: str) -> None:
    for module in re.findall(r"python -m (tests[\w.]*)", document(name)):
        path = ROOT / module.replace(".", "/")
        assert path.with_suffix(".py").is_file() or (path / "__main__.py").is_file() or module == "tests", (
            module
        )


def check_command(words: list[str]) -> None:
    """UsageError for a command or an option that the program does not know; values are not looked at."""
    command: click.Command = crumbcall
    known = {option for param in command.params for option in param.opts}
    context = click.Context(command)
    for word in words:
        if word.startswith("--"):
            option = word.partition("=")[0]
            if option not in known | {"--help", "--version"}:
                raise click.UsageError(f"no option {option} in {' '.join(words)}")
        elif isinstance(command, click.Group):
            if (found := command.get_command(context, word)) is not None:
                command = found
                known |= {option for param in command.params for option in param.opts}
            elif command is not crumbcall or not word.startswith("/"):  # the value of --home
                raise click.UsageError(f"no command {word} in {' '.join(words)}")


@pytest.mark.parametrize("name", DOCUMENTS)
def test_every_command_is_known(name: str) -> None:
    for words in commands(document(name)):
        check_command(words)


def test_a_wrong_command_is_found() -> None:
    text = "`crumbcall sheets 4`, `sudo /x/crumbcall --home /y lots --figures a`, `crumbcall ledger mend X`"
    found = list(commands(text))
    assert len(found) == 3
    for words in found:
        with pytest.raises(click.UsageError):
            check_command(words)


def test_commands_are_found_in_the_documents() -> None:
    assert sum(len(list(commands(document(name)))) for name in DOCUMENTS) > 40


# --- README


def test_the_readme_is_read_at_one_sitting() -> None:
    assert len(document("README.md").splitlines()) <= MOST_LINES_OF_README


def test_the_readme_gives_the_benchmark_s_figures() -> None:
    results = " ".join(document("tests/bench/hearing/RESULTS.md").split("## All forms")[1].split())
    readme = " ".join(document("README.md").split())

    def row(text: str, noise: str) -> list[str]:
        cells = re.search(rf"\| {noise} \|([^\n]*?)\|(?= \| |$)", text)
        assert cells is not None
        return [cell.split()[0] for cell in cells[1].split("|")]

    def figures(part: str) -> tuple[str, str, str]:
        [_, quiet, *_], [_, right, *_, wrong] = row(part, "clean"), row(part, "10 dB")
        return quiet, right, wrong

    quiet, right, wrong = figures(results.split("## Simulated batches")[1])
    assert f"{quiet} % were right at once in quiet, {right} % with the voice 10 dB above the noise" in readme
    assert f"and {wrong} % were wrong and acted on there" in readme
    quiet, right, wrong = figures(results)
    assert f"from all forms of the grammar {quiet}, {right} and {wrong} %" in readme
    talk = results.split("## Talk and near misses")[1]
    [sentences, clean, *_], [_, loud, *_] = row(talk, "clean"), row(talk, "10 dB")
    assert (
        f"Of {sentences} sentences of kitchen talk {clean} % were acted on in quiet, {loud} % at 10 dB"
        in readme
    )


def test_the_readme_gives_the_rules_defaults() -> None:
    rules = BatchRules()
    readme = " ".join(document("README.md").split())
    assert f"{rules.low_pct:g} to {rules.high_pct:g} % of the flour's" in readme
    assert f"the default applies: {rules.first_pour_share:.0%}".replace("%", " %") in readme
    assert rules.question_s == 10
    assert "yes or no within ten seconds" in readme


def test_the_readme_shows_every_picture_in_words_too() -> None:
    readme = document("README.md")
    shown = dict(re.findall(r'<img src="([^"]+)"[^>]* alt="([^"]+)"', readme))
    shown |= {target: words for words, target in re.findall(r"!\[([^]]+)\]\(([^)]+)\)", readme)}
    pictures = {f".pictures/{path.name}" for path in (ROOT / ".pictures").iterdir()}
    assert set(shown) == pictures | {"hardware/wiring.svg"}


def test_the_readme_quotes_what_its_picture_says() -> None:
    said = " ".join(re.findall(r">([^<]+)</text>", document(".pictures/conversation.svg")))
    quoted = re.search(r'"(Lot one two: likely [^"]+)"', " ".join(document("README.md").split()))
    assert quoted is not None
    assert quoted[1] in said
