"""Words and templates of kitchen talk (`talk.toml`), for sentences that are not commands."""

import tomllib
from pathlib import Path

_DATA = tomllib.loads(Path(__file__).with_name("talk.toml").read_text(encoding="utf-8"))

FILLERS: dict[str, list[str]] = {name: words.split() for name, words in _DATA["fillers"].items()}
TALK: list[str] = _DATA["talk"].splitlines()
WORDS: list[str] = _DATA["words"].split()
TEST_TALK: list[str] = _DATA["test"].splitlines()
"""Talk and near misses that nothing is trained with."""
