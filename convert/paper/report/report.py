"""The report: one HTML file that works offline, prints well, and reads on light and dark."""

from convert.paper.report.look import pages
from convert.paper.report.report_content import ReportContent


def write_report(content: ReportContent) -> str:
    """The report as one self-contained HTML page."""
    return pages().get_template("report.html").render(report=content)
