"""
The way in as a constraint programme, from the exported JSON alone: a solver of another kind.

A yes or no for every way, and a place in the order for every part: whoever comes off stands behind all that
its way needs. The order of the changes is a circuit through the removals.
"""

from __future__ import annotations

from typing import Any

from ortools.sat.python import cp_model

#: To the minute: the solver counts whole numbers, so hundredths of a second.
UNIT = 6_000


def solver() -> cp_model.CpSolver:
    one = cp_model.CpSolver()
    one.parameters.num_workers = 1
    one.parameters.max_deterministic_time = 30
    return one


def least_cost(
    exported: dict[str, Any], targets: list[str], off: frozenset[str] = frozenset()
) -> float | None:
    """Of all ways in, [min]; None where there is none."""
    model = cp_model.CpModel()
    parts = [one["id"] for one in exported["parts"] if one["id"] not in off]
    place = {part: model.new_int_var(0, len(parts) - 1, f"place of {part}") for part in parts}
    comes_off = {part: model.new_bool_var(part) for part in parts}
    ways: dict[str, list[cp_model.IntVar]] = {part: [] for part in parts}
    costs = []
    for one in exported["ways"]:
        part = one["part"]
        if part in off:
            continue
        taken = model.new_bool_var(f"{part} {one['way']}")
        ways[part].append(taken)
        costs.append(round(one["cost"] * UNIT) * taken)
        for before in one["after"]:
            if before not in off:
                model.add_implication(taken, comes_off[before])
                model.add(place[before] < place[part]).only_enforce_if(taken)
    for part, its in ways.items():
        model.add(sum(its) == comes_off[part])
    for part in targets:
        if part not in off:
            model.add(comes_off[part] == 1)
    model.minimize(sum(costs))
    one = solver()
    found = one.solve(model)
    if found == cp_model.INFEASIBLE:
        return None
    assert found == cp_model.OPTIMAL, one.status_name(found)
    return one.objective_value / UNIT


def least_changes(steps: list[dict[str, Any]], tool_min: float, turn_min: float) -> float:
    """Of tool and side, over all orders of settled steps ("part", "after", "tool", "side"), [min]."""
    model = cp_model.CpModel()
    size = len(steps)
    place = [model.new_int_var(0, size - 1, f"place {n}") for n in range(size)]
    number = {step["part"]: n for n, step in enumerate(steps)}
    arcs, costs = [], []
    for n, step in enumerate(steps):
        for before in step["after"]:
            if before in number:
                model.add(place[number[before]] < place[n])
        first, last = model.new_bool_var(f"{n} first"), model.new_bool_var(f"{n} last")
        model.add(place[n] == 0).only_enforce_if(first)
        model.add(place[n] == size - 1).only_enforce_if(last)
        arcs += [(size, n, first), (n, size, last)]
        for m, then in enumerate(steps):
            if m != n:
                next_to = model.new_bool_var(f"{n} then {m}")
                model.add(place[m] == place[n] + 1).only_enforce_if(next_to)
                arcs.append((n, m, next_to))
                cost = tool_min * (step["tool"] != then["tool"]) + turn_min * (step["side"] != then["side"])
                costs.append(round(cost * UNIT) * next_to)
    model.add_circuit(arcs)
    model.minimize(sum(costs))
    one = solver()
    found = one.solve(model)
    assert found == cp_model.OPTIMAL, one.status_name(found)
    return one.objective_value / UNIT
