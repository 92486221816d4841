"""Lines, typed or heard word by word, that are no sentence of the grammar: which was meant, to be asked."""

from assistant.nlu.typed.alike import TALK, Alike, Paraphrase, read_paraphrases
from assistant.nlu.typed.nearest import NEGATIONS, Nearest, units_of
from assistant.nlu.typed.spans import Numbers

__all__ = ["NEGATIONS", "TALK", "Alike", "Nearest", "Numbers", "Paraphrase", "read_paraphrases", "units_of"]
