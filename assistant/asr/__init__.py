"""Recognisers behind one port: `phoneme`, which needs no download, and `vosk`, which takes any Vosk model.

A recogniser is a module with a function that builds it from `Parts`, and one row here.
"""

from collections.abc import Callable
from typing import Any

from assistant.asr import phoneme, vosk_engine
from assistant.asr.parts import Parts
from assistant.errors import SettingsError
from assistant.ports import M, Recogniser

_BUILDERS: dict[str, Callable[[Parts[Any]], Recogniser[Any]]] = {
    "phoneme": phoneme.build,
    "vosk": vosk_engine.build,
}
ENGINES = tuple(_BUILDERS)
"""Names of the recognisers, the default first."""


def build_recogniser(engine: str, parts: Parts[M]) -> Recogniser[M]:
    """Build the recogniser of this name.

    Raises SettingsError for an unknown name, ModelError or GrammarError when it can't be built.
    """
    if engine not in _BUILDERS:
        allowed = " or ".join(f'"{name}"' for name in ENGINES)
        raise SettingsError(f'Unknown recogniser "{engine}"; use {allowed}.')
    return _BUILDERS[engine](parts)


__all__ = ["ENGINES", "Parts", "build_recogniser"]
