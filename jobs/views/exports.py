"""A table of a page as a file."""

from django.http import Http404, HttpResponse

from jobs import spreadsheet

XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"


def as_file(table: spreadsheet.Table, name: str, kind: str) -> HttpResponse:
    """The table for a spreadsheet; `kind` is csv or xlsx, anything else is not found."""
    if kind == "csv":
        response = HttpResponse(spreadsheet.csv_of(table), content_type="text/csv; charset=utf-8")
    elif kind == "xlsx":
        response = HttpResponse(spreadsheet.xlsx_of(table, name[:31].capitalize()), content_type=XLSX)
    else:
        raise Http404("Tables come as csv or xlsx.")
    response["Content-Disposition"] = f'attachment; filename="{name}.{kind}"'
    return response
