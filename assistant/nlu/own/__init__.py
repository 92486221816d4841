"""A kitchen's own phrasings and names, woven into the rules of the grammar when it is loaded."""

from assistant.nlu.own.loading import KitchenGrammar, described, load_kitchen_grammar
from assistant.nlu.own.rows import Kind, Own, OwnName, OwnPhrase

__all__ = ["Kind", "KitchenGrammar", "Own", "OwnName", "OwnPhrase", "described", "load_kitchen_grammar"]
