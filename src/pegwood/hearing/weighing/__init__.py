"""
What the rules heard, weighed against labelled talk.

The rules say who may be spoken of and what is told; the words alone say it too, where nobody is named
(`about`) and where the vocabulary has no word (`wordless`). Which of them is meant, whether it is told of
this camera at all, how sure, and whether it is denied: that is weighed by sums of small weights, learned
from labelled narrations (`tools/teach-hearing`) and kept as data beside the language's vocabulary.

scenes  a sentence laid out          claims  what may be told of whom      signs  what speaks for a claim
sums    claims added up              deciding  which hold                  drafting  what they tell
kinds, manner  remark or not, denied or guessed                            works  what is done
"""

from pegwood.hearing.weighing.deciding import Weigher
from pegwood.hearing.weighing.weights import BadWeights, Weights, weights_of

__all__ = ["BadWeights", "Weigher", "Weights", "weights_of"]
