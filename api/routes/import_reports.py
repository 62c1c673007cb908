"""What came of the rows of a file of old records, and what such a file may look like."""

from collections.abc import Iterable

from flask import Response
from flask.views import MethodView

from api.database import reading
from api.exchange.report import report_lines, table_report
from api.exchange.report_page import report_page
from api.exchange.template import table_schema, template_csv, template_profile
from api.queries.imports import pieces_of, rows_told
from api.records.file_import import ImportRun, RowTold
from api.records.import_profile import ImportProfile
from api.routes.bodies import answer, engine
from api.routes.contract import question
from api.routes.doorkeeper import needs
from api.routes.imports import IMPORTS, import_seen
from api.routes.questions import asked
from api.routes.site import guarded
from schemas.answers import TableSchemaSchema
from schemas.wire_shape import wire_shape

_TEXT = {"type": "string"}


@IMPORTS.route("/<import_id>/report.csv")
class ReportTable(MethodView):
    """What came of each row, as a table."""

    @needs("import")
    @IMPORTS.response(200, _TEXT, content_type="text/csv")
    def get(self, import_id: str) -> Response:
        """Read the file itself with columns before it that say what came of each row; it can be mended and sent again."""
        asked()
        run, told = _reported(import_id)
        lines = table_report(pieces_of(engine(), run.told.file_import), run.settled, told)
        return _file(lines, "text/csv; header=present", "report.csv")


@IMPORTS.route("/<import_id>/report.ndjson")
class ReportLines(MethodView):
    """What came of each row, for programs."""

    @needs("import")
    @IMPORTS.response(200, _TEXT, content_type="application/x-ndjson")
    def get(self, import_id: str) -> Response:
        """Read what came of each row, a line of JSON each."""
        asked()
        return _file(report_lines(_reported(import_id)[1]), "application/x-ndjson", "report.ndjson")


@IMPORTS.route("/<import_id>/report.html")
class ReportPage(MethodView):
    """What came of each row, as a page."""

    @needs("import")
    @IMPORTS.response(200, _TEXT, content_type="text/html")
    def get(self, import_id: str) -> Response:
        """Read a page that says what came of the rows: totals, faults by code, and the first of them in full."""
        asked()
        run, told = _reported(import_id)
        return guarded(Response(report_page(run.told, told), content_type="text/html; charset=utf-8"))


def _reported(import_id: str) -> tuple[ImportRun, list[RowTold]]:
    """An import and what came of its rows at the last going through the file."""
    run = import_seen(import_id)
    with reading(engine()) as connection:
        return run, list(rows_told(connection, run.told.file_import, run.attempt))


@IMPORTS.route("/template.csv")
class Template(MethodView):
    """What a file may look like."""

    @needs("public")
    @question("layout")
    @IMPORTS.doc(
        responses={"200": {"description": "The template", "content": {"text/csv": {"schema": {"type": "string"}}}}}
    )
    def get(self) -> Response:
        """Read a template to fill in: one reading a row, or one visit a row."""
        layout = asked("layout").get("layout", "reading")
        return _file([template_csv(layout)], "text/csv; charset=utf-8; header=present", f"template-{layout}.csv")


@IMPORTS.route("/schema.json")
class TableSchema(MethodView):
    """What a file may hold, for programs."""

    @needs("public")
    @question("layout")
    @IMPORTS.response(200, TableSchemaSchema)
    def get(self) -> Response:
        """Read the Table Schema of a template (Data Package 2.0)."""
        return answer(table_schema(asked("layout").get("layout", "reading")))


@IMPORTS.route("/profile.json")
class TemplateProfile(MethodView):
    """How a template is read."""

    @needs("public")
    @question("layout")
    @IMPORTS.response(200, wire_shape(ImportProfile))
    def get(self) -> Response:
        """Read the import profile that reads a template as it is; put it on the register under a code of your own."""
        return answer(template_profile(asked("layout").get("layout", "reading")))


def _file(lines: Iterable[str] | Iterable[bytes], content_type: str, name: str) -> Response:
    headers = {"Content-Disposition": f'attachment; filename="{name}"'}
    return Response(lines, headers=headers, content_type=content_type)
