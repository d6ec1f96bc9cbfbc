"""
What the rules heard, weighed against labelled talk.

The rules say who may be spoken of and what is told. Which of them is meant, whether it is told of this camera
at all, how sure, and whether it is denied: that is weighed by sums of small weights, learned from labelled
narrations (`tools/teach-hearing`) and kept as data beside the language's vocabulary.
"""

from pegwood.hearing.weighing.deciding import Weigher
from pegwood.hearing.weighing.weights import BadWeights, Weights, weights_of

__all__ = ["BadWeights", "Weigher", "Weights", "weights_of"]
