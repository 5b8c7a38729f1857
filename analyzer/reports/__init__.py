"""Takes one Audit. Gives its report: JSON, HTML, tables, figures, a terminal summary. Never judges or recomputes.

Before there is a recording: a plan's review and its run sheet, in the same dress.
"""

from analyzer.reports.outputs import KINDS, render_files
from analyzer.reports.report_json import report_bytes, report_dict, validate_report
from analyzer.reports.summary import summary_text
from analyzer.reports.writing import refuse_file, refuse_folder, write_file, write_files, write_folder

__all__ = [
    "KINDS",
    "refuse_file",
    "refuse_folder",
    "render_files",
    "report_bytes",
    "report_dict",
    "summary_text",
    "validate_report",
    "write_file",
    "write_files",
    "write_folder",
]
