"""How good past chances were: scores, reliability, and whether more surprises came than should."""

from pegwood.causes.scoring.reliability import Bin, Reliability, Split, murphy_split, reliability
from pegwood.causes.scoring.scores import (
    CLIP,
    FEW,
    Prediction,
    Scores,
    brier_of_answers,
    calibration_z,
    scores,
)
from pegwood.causes.scoring.surprises import Answered, ModelCheck, SignCheck, model_check

__all__ = [
    "CLIP",
    "FEW",
    "Answered",
    "Bin",
    "ModelCheck",
    "Prediction",
    "Reliability",
    "Scores",
    "SignCheck",
    "Split",
    "brier_of_answers",
    "calibration_z",
    "model_check",
    "murphy_split",
    "reliability",
    "scores",
]
