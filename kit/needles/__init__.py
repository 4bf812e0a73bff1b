"""The log, where things stand, the rest planned anew.

knitted.csv is followed along the last plan (`where_things_stand`): what hangs on the
needles, the pace, when strands end. Verbs add a line to the log; `write_replan` plans
the rest by other `ReplanChoices` and keeps it beside the plans there are.
"""

from typing import TYPE_CHECKING

from kit.late import late

if TYPE_CHECKING:
    from kit.needles.replan_choices import ReplanChoices as ReplanChoices
    from kit.needles.replan_choices import read_length as read_length
    from kit.needles.status import check_log as check_log
    from kit.needles.status import check_may_replace as check_may_replace
    from kit.needles.status import log_join as log_join
    from kit.needles.status import log_row as log_row
    from kit.needles.status import log_weighing as log_weighing
    from kit.needles.status import status_lines as status_lines
    from kit.needles.status import where_things_stand as where_things_stand
    from kit.needles.status import write_replan as write_replan

_HOMES = {
    "replan_choices": ("ReplanChoices", "read_length"),
    "status": (
        "check_log",
        "check_may_replace",
        "log_join",
        "log_row",
        "log_weighing",
        "status_lines",
        "where_things_stand",
        "write_replan",
    ),
}
__getattr__, __dir__, __all__ = late(__name__, _HOMES)
