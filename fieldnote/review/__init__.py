"""Seen afterwards: the log as reports, pages and a terminal table.

path = report(log, "2031-014", Path("report.html"))
rich.print(table(log, "2031-014"))
"""

from fieldnote.review.report import report
from fieldnote.review.terminal import table

__all__ = ["report", "table"]
