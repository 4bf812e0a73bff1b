"""The plan as files, and read back.

A `Plan` becomes plan.json, plan.html, schedule.csv and a summary (`write_plan`,
`summary`); `read_plan` makes a plan of plan.json again.
"""

from typing import TYPE_CHECKING

from kit.late import late

if TYPE_CHECKING:
    from kit.report.plan_json import plan_folder as plan_folder
    from kit.report.plan_json import read_plan as read_plan
    from kit.report.report import flow_lines as flow_lines
    from kit.report.report import summary as summary
    from kit.report.report import write_plan as write_plan

_HOMES = {
    "plan_json": (
        "plan_folder",
        "read_plan",
    ),
    "report": (
        "flow_lines",
        "summary",
        "write_plan",
    ),
}
__getattr__, __dir__, __all__ = late(__name__, _HOMES)
