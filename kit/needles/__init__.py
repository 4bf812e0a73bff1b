"""The log, where things stand, the rest planned anew.

knitted.csv is followed along the last plan (`where_things_stand`): what hangs on the
needles, the pace, when strands end. Verbs add a line to the log; `preview_replan` plans
the rest otherwise, `save_replan` keeps it.
"""

from typing import TYPE_CHECKING

from kit.late import late

if TYPE_CHECKING:
    from kit.needles.status import check_log as check_log
    from kit.needles.status import check_may_replace as check_may_replace
    from kit.needles.status import log_join as log_join
    from kit.needles.status import log_row as log_row
    from kit.needles.status import log_weighing as log_weighing
    from kit.needles.status import preview_replan as preview_replan
    from kit.needles.status import save_replan as save_replan
    from kit.needles.status import status_lines as status_lines
    from kit.needles.status import where_things_stand as where_things_stand

_HOMES = {
    "status": (
        "check_log",
        "check_may_replace",
        "log_join",
        "log_row",
        "log_weighing",
        "preview_replan",
        "save_replan",
        "status_lines",
        "where_things_stand",
    ),
}
__getattr__, __dir__, __all__ = late(__name__, _HOMES)
