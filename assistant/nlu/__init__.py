"""Sentence -> Command, by a grammar file in JSGF."""

from assistant.nlu.grammar import Grammar, load_grammar

__all__ = ["Grammar", "load_grammar"]
