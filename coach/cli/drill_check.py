"""`coach drill check`: every problem of a drill file, or what it flies like."""

from __future__ import annotations

import argparse
import re
from typing import Any

from coach.cli.output import bullets, line, print_json
from coach.drill.briefing import render_time
from coach.drill.compiler import compile_drill
from coach.drill.plan import Plan, plan_drill
from coach.errors import DrillError, Problem
from coach.store.drills import read_source

TAS_KT = 90.0
"""What it is worked out for, in nil wind: a drill that cannot be flown so is not right either."""


def run(options: argparse.Namespace) -> int:
    """Check a file: read it, compile it with its own defaults, plan it in nil wind."""
    if not options.json:
        _tell(options.file, _plan_of(options.file))
        return 0
    try:
        plan = _plan_of(options.file)
    except DrillError as error:
        print_json({"file": options.file, "problems": [_encode(each) for each in error.problems]})
        return error.exit_status
    found = {"drill": plan.drill.name, "legs": len(plan.legs), "warnings": list(plan.warnings)}
    print_json({"file": options.file, "problems": [], **found})
    return 0


def _plan_of(file: str) -> Plan:
    return plan_drill(compile_drill(read_source(file), {}), tas_kt=TAS_KT)


def _tell(file: str, plan: Plan) -> None:
    line(f"{file}: no problems")
    line(
        f"{plan.drill.title}: {len(plan.legs)} legs, {render_time(plan.total_s)} at {TAS_KT:g} kt in nil wind"
    )
    bullets("Warnings", plan.warnings)


def _encode(problem: Problem | str) -> dict[str, Any]:
    """A problem with its place taken apart; None where it has no line."""
    if isinstance(problem, str):
        return {"line": None, "column": None, "path": "", "expected": problem, "got": ""}
    found = re.search(r":([0-9]+):([0-9]+)(?:: (.*))?$", problem.where)
    at: dict[str, Any] = {"line": None, "column": None, "path": problem.where}
    if found is not None:
        at = {"line": int(found[1]), "column": int(found[2]), "path": found[3] or ""}
    return {**at, "expected": problem.expected, "got": problem.got}
