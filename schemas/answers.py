"""What the service answers, as shapes for the contract. Values come from records through one codec; see `documents`."""

from marshmallow import INCLUDE, Schema
from marshmallow import fields as wire

from api.metrology.use import Use
from api.records.access_key import AccessKey, KeyMade
from api.records.attachment import AttachmentReceipt
from api.records.bundle import Bundle
from api.records.calibration import Calibration, CalibrationListed, CertificateRevision, Checked, Receipt
from api.records.corners import CornersAnswer
from api.records.due import Due
from api.records.export import FileExport
from api.records.file_import import FileImport
from api.records.job import Job
from api.records.label import LabelRead, LabelReceipt
from api.records.life import Acted, Life
from api.records.log import LogEntry
from api.records.nearby import NearbyScale
from api.records.plan import PlanRead
from api.records.quarantine import Quarantined, QuarantineReceipt
from api.records.round import RoundAnswer
from api.records.weighing import WeighingAnswer
from api.records.weight_event import StoredWeightEvent, WeightEventReceipt, WeightLife, WeightSetLife
from schemas import quantities
from schemas.parts import PartSchema
from schemas.wire_shape import TOLD, Strict, told_of, wire_shape

ReceiptSchema = wire_shape(Receipt)
AttachmentReceiptSchema = wire_shape(AttachmentReceipt)
QuarantineReceiptSchema = wire_shape(QuarantineReceipt)
QuarantinedSchema = wire_shape(Quarantined)
CheckedSchema = wire_shape(Checked)
CalibrationSchema = wire_shape(Calibration)
CalibrationListedSchema = wire_shape(CalibrationListed)
BundleSchema = wire_shape(Bundle)
UseSchema = wire_shape(Use)
DueSchema = wire_shape(Due)
NearbyScaleSchema = wire_shape(NearbyScale)
LogEntrySchema = wire_shape(LogEntry)
JobSchema = wire_shape(Job)
WeighingSchema = wire_shape(WeighingAnswer)
RoundSchema = wire_shape(RoundAnswer)
CornersSchema = wire_shape(CornersAnswer)
PlanReadSchema = wire_shape(PlanRead)
KeySchema = wire_shape(AccessKey)
KeyMadeSchema = wire_shape(KeyMade)
ImportSchema = wire_shape(FileImport)
ActedSchema = wire_shape(Acted)
LifeSchema = wire_shape(Life)
CertificateRevisionSchema = wire_shape(CertificateRevision)
WeightEventSchema = wire_shape(StoredWeightEvent)
WeightEventReceiptSchema = wire_shape(WeightEventReceipt)
WeightLifeSchema = wire_shape(WeightLife)
WeightSetLifeSchema = wire_shape(WeightSetLife)
LabelSchema = wire_shape(LabelRead)
LabelReceiptSchema = wire_shape(LabelReceipt)
ExportSchema = wire_shape(FileExport)


class ExportsSchema(PartSchema):
    """Exports that were asked for and are kept, the newest first."""

    items = wire.List(wire.Nested(ExportSchema), required=True)


class ImportsSchema(PartSchema):
    """Files that were received, the newest first."""

    items = wire.List(wire.Nested(ImportSchema), required=True)


# A Table Schema (Data Package 2.0): the columns of a file, what each holds, and what it may be.
TableSchemaSchema = Schema.from_dict(
    {
        "fields": wire.List(wire.Dict(), required=True),
        "missingValues": wire.List(wire.String(), required=True),
        "fieldsMatch": wire.String(required=True),
        "primaryKey": wire.List(wire.String()),
    },
    name="TableSchemaSchema",
)


class HistorySchema(PartSchema):
    """Every calibration and attempt of a device, newest visit first."""

    device = wire.String(required=True)
    items = wire.List(wire.Nested(CalibrationSchema), required=True)


class CalibrationsSchema(PartSchema):
    """Calibrations and attempts in short, newest visit first."""

    items = wire.List(wire.Nested(CalibrationListedSchema), required=True)


class QuarantineSchema(PartSchema):
    """Submissions that wait for a program that knows their schema, in order of arrival."""

    items = wire.List(wire.Nested(QuarantinedSchema), required=True)


class NewerSubmissionSchema(Schema):
    """A submission in a schema that is not known here: what every version has, and whatever else was sent."""

    class Meta:
        """Whatever else was sent."""

        unknown = INCLUDE

    schema = wire.String(required=True)
    site = wire.String(required=True)


class InsteadSchema(Schema):
    """The scales near by that may be used instead of one, the nearest first."""

    device = wire.String(required=True)
    items = wire.List(wire.Nested(NearbyScaleSchema), required=True)


class DueListSchema(PartSchema):
    """The devices that are due, the longest due first."""

    on = wire.Date(required=True)
    items = wire.List(wire.Nested(DueSchema), required=True)


class ChangesSchema(Schema):
    """Entries of the log after a number, in order of commit without gaps, and the number to ask after next.

    `at_end`: nothing more is there for now; the same number is asked after again, later.
    """

    items = wire.List(wire.Nested(LogEntrySchema), required=True)
    next_after = wire.Integer(required=True)
    head = wire.Integer(required=True)
    at_end = wire.Boolean(required=True)


class CertificateSchema(Schema):
    """A certificate, exactly as stored: the answer's bytes are the stored bytes.

    It holds what it was drawn from: the content as sent, the judgement's working, and the register's records of that day.
    """

    version = wire.String(required=True)
    number = wire.String(required=True)
    revision = wire.Integer(required=True)
    issued_at = Strict(quantities.MOMENT, required=True)
    calibration = wire.String(required=True)
    record_revision = wire.Integer(required=True)
    judgement_number = wire.Integer(required=True)
    purpose = wire.String(required=True)
    performed_from = Strict(quantities.MOMENT, required=True)
    performed_to = Strict(quantities.MOMENT, required=True)
    received_at = Strict(quantities.MOMENT, required=True)
    technicians = wire.List(wire.String(), required=True)
    procedure = wire.Dict()
    site = wire.Dict()
    ward = wire.Dict()
    device = wire.Dict(required=True)
    model = wire.Dict(required=True)
    policy = wire.Dict()
    content = wire.Dict(required=True)
    content_digest = wire.String(required=True)
    judgement = wire.Dict(required=True)
    weight_certificates = wire.List(wire.Dict(), required=True)
    rule = wire.String(required=True)
    statements = wire.List(wire.String(), required=True)
    released = wire.Dict(required=True)
    replaces = wire.Dict()
    links = wire.List(wire.Dict())
    cautions = wire.List(wire.Dict(), required=True)


class CertificateRevisionsSchema(PartSchema):
    """Every revision of a certificate, the oldest first, with what became of it."""

    number = wire.String(required=True)
    items = wire.List(wire.Nested(CertificateRevisionSchema), required=True)


class LabelsSchema(PartSchema):
    """The labels of a device, the newest first."""

    device = wire.String(required=True)
    items = wire.List(wire.Nested(LabelSchema), required=True)


class KeysSchema(PartSchema):
    """Every key in sight, by holder and then by when it was made."""

    items = wire.List(wire.Nested(KeySchema), required=True)


class AboutSchema(Schema):
    """Which program answers, how far its log is, and how many requests it has served since it started."""

    program = wire.String(required=True)
    database = wire.String(required=True)
    log_number = wire.Integer(required=True)
    requests_served = wire.Integer(required=True)


class BatchResultSchema(Schema):
    """What became of one calibration of a batch: its place and line, its status, its receipt or what stands against it."""

    index = wire.Integer(required=True)
    line = wire.Integer()
    id = wire.String()
    status = wire.Integer(required=True)
    receipt = wire.Nested(ReceiptSchema)
    quarantined = wire.Nested(QuarantineReceiptSchema)
    problem = wire.Nested(lambda: ProblemSchema())


class BatchSummarySchema(Schema):
    """How many of a batch became what: received = created + replayed + quarantined + refused; some created are flagged."""

    received = wire.Integer(required=True)
    created = wire.Integer(required=True)
    flagged = wire.Integer(required=True)
    replayed = wire.Integer(required=True)
    quarantined = wire.Integer(required=True)
    refused = wire.Integer(required=True)


class BatchSchema(Schema):
    """What became of a batch: a summary, and a result for each in the order sent."""

    summary = wire.Nested(BatchSummarySchema, required=True)
    results = wire.List(wire.Nested(BatchResultSchema), required=True)


class FaultSchema(Schema):
    """One fault: where in what was sent, what was found and would be accepted, under a stable code."""

    pointer = wire.String()
    parameter = wire.String()
    line = wire.Integer()
    detail = wire.String(required=True)
    code = wire.String(required=True)


class ProblemSchema(Schema):
    """A problem (RFC 9457). `type` is an address on this service, whose page says what happened and what to do.

    `code` is its end, for programs. `errors` has all faults at once, each with a JSON pointer into the body or the name
    of a parameter; `pointers` are where contents differ; `facts` what to go on with, as text. `instance` names this answer in
    the log file of the service and leads nowhere.
    """

    type = wire.String(required=True)
    title = wire.String(required=True)
    status = wire.Integer(required=True)
    detail = wire.String(required=True)
    instance = wire.String(required=True)
    code = wire.String(required=True)
    errors = wire.List(wire.Nested(FaultSchema))
    errors_truncated = wire.Boolean()
    pointers = wire.List(wire.String())
    facts = wire.Dict(keys=wire.String(), values=wire.String())
    violated_policies = wire.List(wire.String(), data_key="violated-policies")


TOLD["Problem"] = told_of(ProblemSchema)
