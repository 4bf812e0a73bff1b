"""The command line: plan, progress, check, photo, open."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Any

DONE, FAULTS, WORDS = 0, 1, 2
N_ADVICE = 3  # changes told in a summary; the plan has more
CORRECTIONS = {
    "none": "none", "card": "grey card", "paper": "white paper", "target": "target",
}  # fmt: skip
BLANKET = "the blanket: a folder with stash.csv and blanket.toml"


def main(words: Sequence[str] | None = None) -> int:
    """Run one command; returns 0 done, 1 faults in the input, 2 in the call's words."""
    from kit.errors import KitError

    _speak_utf8()
    call = _parser().parse_args(words)
    settings: dict[str, Any] = {}
    if getattr(call, "settings", None):
        from kit.blanket import read_settings

        try:
            settings = read_settings(call.settings)
        except KitError as error:
            return _tell(error, WORDS)
    try:
        return _run(call, settings)
    except KitError as error:
        in_call = any(fault.column in settings for fault in error.faults)
        return _tell(error, WORDS if in_call else FAULTS)


def _run(call: argparse.Namespace, settings: dict[str, Any]) -> int:
    """The call; a reader such as `head` that has seen enough is no fault."""
    from kit.files import silence

    try:
        code = call.run(call, settings)
        sys.stdout.flush()
    except BrokenPipeError:
        silence(sys.stdout)
        return DONE
    return code


def _plan(call: argparse.Namespace, settings: dict[str, Any]) -> int:
    from kit.blanket import open_blanket
    from kit.files import check_can_save
    from kit.needles import check_may_replace
    from kit.plan import advice_lines, plan_blanket, reordered_lines
    from kit.report import flow_lines, summary, write_plan

    blanket = open_blanket(call.folder, shop_file=call.shop, settings=settings)
    out = Path(call.out) if call.out else blanket.folder / "plan"
    if not call.out:
        check_may_replace(blanket)
    check_can_save(out / "plan.html")  # before the work, not after it
    plan = plan_blanket(blanket)
    write_plan(plan, out, pictures=call.pictures)
    print("\n".join(summary(plan)))
    help_lines = [*reordered_lines(plan), *advice_lines(plan)[:N_ADVICE]]
    print("\n".join([*flow_lines(plan), *help_lines]))
    print(f"The plan: {out / 'plan.html'}")
    return DONE


def _progress(call: argparse.Namespace, settings: dict[str, Any]) -> int:
    from kit.errors import KitError
    from kit.needles import (
        ReplanChoices,
        status_lines,
        where_things_stand,
        write_replan,
    )

    wanted = ReplanChoices(
        tuple(call.drop), tuple(call.add), call.length and call.length.cm, call.layout,
        call.rows_per_colour, "anew" if call.anew else "either", call.leftovers,
    )  # fmt: skip
    status = where_things_stand(call.folder)
    try:
        wanted.check(status.blanket)
    except KitError as error:
        return _tell(error, WORDS)
    print("\n".join(status_lines(status)))
    if call.length:
        print(call.length.words(status.blanket.choices.units))
    if call.replan or wanted != ReplanChoices():
        print("\n".join(write_replan(status, wanted)))
    return DONE


def _length(text: str) -> Any:
    """A length above 0, or "all"."""
    from kit.errors import KitError
    from kit.needles import read_length

    try:
        return read_length(text)
    except KitError as error:
        raise argparse.ArgumentTypeError(str(error)) from None


def _rows(text: str) -> int:
    """A whole number of rows above 0."""
    digits = text.strip()
    rows = int(digits) if digits.isdecimal() else 0
    if not 0 < rows <= 100_000:
        says = f"found {text or 'nothing'}, expected a whole number of rows above 0"
        raise argparse.ArgumentTypeError(says)
    return rows


def _check(call: argparse.Namespace, settings: dict[str, Any]) -> int:
    from kit.blanket import open_blanket
    from kit.needles import check_log
    from kit.yarn import counted

    blanket = open_blanket(call.folder)
    check_log(blanket)
    told = blanket.stash.assumed_in(blanket.choices.units)
    in_shop = blanket.shop.notes if blanket.shop else ()
    for line in (*told, *blanket.stash.notes, *in_shop):
        print(line)
    has = counted(len(blanket.stash.yarns), "yarn")
    if blanket.shop:
        has += f", {counted(len(blanket.shop.yarns), 'skein')} in the shop list"
    print(f"{blanket.choices.name}: {has}. No faults.")
    return DONE


def _photo(call: argparse.Namespace, settings: dict[str, Any]) -> int:
    from kit.photo import add_to_stash, read_marked

    kind = CORRECTIONS.get(call.correction)
    marked = read_marked(call.photo, call.regions, kind)
    print("\n".join(marked.sentences))
    if call.add:
        samples, by = marked.samples, marked.correction
        rows = add_to_stash(call.add, samples, by, replacing=call.replace)
        print("\n".join(rows.sentences))
    return DONE


def _open(call: argparse.Namespace, settings: dict[str, Any]) -> int:
    from kit.server import open_lab

    return open_lab(Path(call.folder) if call.folder else None)


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog=_called_as(),
        description="Design a blanket from leftover yarn so that the colour flows.",
    )
    parser.add_argument("--version", action=_Version, nargs=0, help="which one this is")
    commands = parser.add_subparsers(
        required=True, metavar="plan|progress|check|photo|open"
    )
    plan = commands.add_parser("plan", help="work a blanket out and write its plan")
    plan.add_argument("folder", metavar="FOLDER", help=BLANKET)
    plan.add_argument("--out", metavar="DIR", help="where to write (FOLDER/plan)")
    plan.add_argument("--shop", metavar="FILE", help="skeins that could be bought")
    plan.add_argument(
        "--pictures",
        action="store_true",
        help="write the pictures of the fabric as files, too",
    )
    plan.add_argument(
        "--set",
        dest="settings",
        action="extend",
        nargs="+",
        metavar="KEY=VALUE",
        help="a choice for this call, such as colours.by=value",
    )
    plan.set_defaults(run=_plan)
    _add_progress(commands)
    check = commands.add_parser("check", help="read everything, report every fault")
    check.add_argument("folder", metavar="FOLDER", help=BLANKET)
    check.set_defaults(run=_check)
    photo = commands.add_parser("photo", help="the colours of balls on a photo")
    photo.add_argument("photo", metavar="PHOTO", help="a JPEG, PNG or WebP picture")
    photo.add_argument(
        "--regions",
        metavar="FILE",
        help="where its balls lie (PHOTO-regions.csv, as the notebook writes it)",
    )
    photo.add_argument(
        "--correction",
        choices=CORRECTIONS,
        help="by what the colours are put right (the best that is marked)",
    )
    photo.add_argument("--add", metavar="FOLDER", help="put the yarns into a blanket")
    photo.add_argument(
        "--replace", action="store_true", help="new colours for names already there"
    )
    photo.set_defaults(run=_photo)
    open_ = commands.add_parser("open", help="JupyterLab on the notebooks")
    open_.add_argument(
        "folder",
        metavar="FOLDER",
        nargs="?",
        help=f"{BLANKET} (left out: a copy of the demo, under ./blankets)",
    )
    open_.set_defaults(run=_open)
    return parser


def _called_as() -> str:
    """`shadepath`, or what stands for it where the kit was run as a module."""
    return "python -m kit" if Path(sys.argv[0]).name == "__main__.py" else "shadepath"


class _Version(argparse.Action):
    """Tell the kit's version; looked up only when asked for."""

    def __call__(self, parser: argparse.ArgumentParser, *_: Any) -> None:
        from importlib.metadata import version

        print(f"shadepath {version('shadepath')}")
        parser.exit(DONE)


def _add_progress(commands: Any) -> None:
    progress = commands.add_parser(
        "progress",
        help="where the knitting stands",
        description="Where the knitting stands, by knitted.csv. With --replan, or any "
        "of the options under it, the rest is planned anew beside the old plan.",
    )
    progress.add_argument("folder", metavar="FOLDER", help=BLANKET)
    anew = progress.add_argument_group("the rest planned anew")
    anew.add_argument("--replan", action="store_true", help="as the choices are now")
    anew.add_argument("--drop", nargs="+", action="extend", default=[],
                      metavar="YARN", help="lost, or not to be used")  # fmt: skip
    anew.add_argument("--add", nargs="+", action="extend", default=[],
                      metavar="YARN", help="to take in")  # fmt: skip
    anew.add_argument(
        "--length",
        type=_length,
        metavar="LENGTH|all",
        help='another length in all, such as 150 (cm) or "60 in", or all the yarn',
    )
    anew.add_argument(
        "--layout",
        choices=("light-to-dark", "dark-to-light", "mirrored"),
        help="another way for what is to come",
    )
    anew.add_argument(
        "--rows-per-colour", type=_rows, metavar="N", help="another pace from here"
    )
    anew.add_argument(
        "--anew", action="store_true", help="arrange what is to come anew"
    )
    anew.add_argument(
        "--leftovers", action="store_true", help="use broken-off balls as well"
    )
    progress.set_defaults(run=_progress)


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
