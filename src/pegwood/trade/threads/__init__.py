"""Threads: which one a screw has, what tells two apart, how tight it may be."""

from pegwood.trade.threads.likeness import Candidate, Likeness, threads_like
from pegwood.trade.threads.looks import Look, looks
from pegwood.trade.threads.measured import Measured, pitch_of_turns
from pegwood.trade.threads.rows import FAMILIES, FORMS, ORIGINS, SIZES, Thread, find_thread, threads
from pegwood.trade.threads.telling import tell_thread, tell_torque, told
from pegwood.trade.threads.torque import HOLES, Torque, stress_area, tightening_torque

__all__ = [
    "FAMILIES",
    "FORMS",
    "HOLES",
    "ORIGINS",
    "SIZES",
    "Candidate",
    "Likeness",
    "Look",
    "Measured",
    "Thread",
    "Torque",
    "find_thread",
    "looks",
    "pitch_of_turns",
    "stress_area",
    "tell_thread",
    "tell_torque",
    "threads",
    "threads_like",
    "tightening_torque",
    "told",
]
