"""The command line: plan, check, open."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Any

DONE, FAULTS, WORDS = 0, 1, 2


def main(words: Sequence[str] | None = None) -> int:
    """Run one command; returns 0 done, 1 faults in the input, 2 in the call's words."""
    from kit.errors import KitError

    _speak_utf8()
    call = _parser().parse_args(words)
    settings: dict[str, Any] = {}
    if getattr(call, "settings", None):
        from kit.keys import read_settings

        try:
            settings = read_settings(call.settings)
        except KitError as error:
            return _tell(error, WORDS)
    try:
        return call.run(call, settings)
    except KitError as error:
        in_call = any(fault.column in settings for fault in error.faults)
        return _tell(error, WORDS if in_call else FAULTS)


def _plan(call: argparse.Namespace, settings: dict[str, Any]) -> int:
    from kit.blanket import open_blanket, plan_blanket
    from kit.report import jump_lines, summary, write_plan

    blanket = open_blanket(call.folder, shop_file=call.shop, settings=settings)
    plan = plan_blanket(blanket)
    out = Path(call.out) if call.out else blanket.folder / "plan"
    write_plan(plan, out)
    print("\n".join(summary(plan)))
    if worst := jump_lines(plan):
        print("Where the flow breaks, worst first:")
        print("\n".join(worst))
    print(f"The plan: {out / 'plan.html'}")
    return DONE


def _check(call: argparse.Namespace, settings: dict[str, Any]) -> int:
    from kit.blanket import open_blanket

    blanket = open_blanket(call.folder)
    for line in (*blanket.stash.assumed, *blanket.stash.notes):
        print(line)
    shop = (
        f", {len(blanket.shop.yarns)} skeins in the shop list" if blanket.shop else ""
    )
    n_yarns = len(blanket.stash.yarns)
    print(f"{blanket.choices.name}: {n_yarns} yarns{shop}. No faults.")
    return DONE


def _open(call: argparse.Namespace, settings: dict[str, Any]) -> int:
    from kit.lab import open_lab

    return open_lab(Path(call.folder) if call.folder else None)


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="shadepath",
        description="Design a blanket from leftover yarn so that the colour flows.",
    )
    commands = parser.add_subparsers(required=True, metavar="plan|check|open")
    plan = commands.add_parser("plan", help="work a blanket out and write its plan")
    plan.add_argument("folder", metavar="FOLDER")
    plan.add_argument("--out", metavar="DIR", help="where to write (FOLDER/plan)")
    plan.add_argument("--shop", metavar="FILE", help="skeins that could be bought")
    plan.add_argument(
        "--set",
        dest="settings",
        action="extend",
        nargs="+",
        metavar="KEY=VALUE",
        help="a choice for this call, such as colours.by=value",
    )
    plan.set_defaults(run=_plan)
    check = commands.add_parser("check", help="read everything, report every fault")
    check.add_argument("folder", metavar="FOLDER")
    check.set_defaults(run=_check)
    open_ = commands.add_parser("open", help="JupyterLab on the notebooks")
    open_.add_argument("folder", metavar="FOLDER", nargs="?")
    open_.set_defaults(run=_open)
    return parser


def _tell(error: Exception, code: int) -> int:
    print(error, file=sys.stderr)
    return code


def _speak_utf8() -> None:
    """Names may hold any letter; a console that cannot show one gets a stand-in."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")


if __name__ == "__main__":
    sys.exit(main())
