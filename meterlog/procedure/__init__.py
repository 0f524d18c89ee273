"""Procedures: the file, its checker, the step patterns and the engine that runs them."""

from meterlog.files import Problem
from meterlog.procedure.checks import Finding, meter_findings
from meterlog.procedure.engine import Engine
from meterlog.procedure.errors import IllegalAction, ProcedureError
from meterlog.procedure.events import (
    GUIDED_BY_THE_RULE,
    Acted,
    ActionKind,
    Ending,
    Event,
    GuardTripped,
    Measured,
    Outcome,
    Pass,
    Role,
    SessionEnded,
    SettledValue,
    StepEnded,
    Ticked,
)
from meterlog.procedure.fitting import StepFit, fits_of, unfit_words
from meterlog.procedure.lags import Lags, with_lags
from meterlog.procedure.load import load_procedure, load_procedure_text, point_at, warnings_in
from meterlog.procedure.model import Procedure, Step
from meterlog.procedure.plan import PlannedStep, plan_of, reopened_by
from meterlog.procedure.schema import procedure_schema
from meterlog.procedure.view import (
    Alarm,
    Cue,
    Direction,
    Guide,
    PlannedStepView,
    SessionState,
    Sound,
    SourceSetting,
    StepState,
    View,
)

__all__ = [
    "GUIDED_BY_THE_RULE",
    "Acted",
    "ActionKind",
    "Alarm",
    "Cue",
    "Direction",
    "Ending",
    "Engine",
    "Event",
    "Finding",
    "GuardTripped",
    "Guide",
    "IllegalAction",
    "Lags",
    "Measured",
    "Outcome",
    "Pass",
    "PlannedStep",
    "PlannedStepView",
    "Problem",
    "Procedure",
    "ProcedureError",
    "Role",
    "SessionEnded",
    "SessionState",
    "SettledValue",
    "Sound",
    "SourceSetting",
    "Step",
    "StepEnded",
    "StepFit",
    "StepState",
    "Ticked",
    "View",
    "fits_of",
    "load_procedure",
    "load_procedure_text",
    "meter_findings",
    "plan_of",
    "point_at",
    "procedure_schema",
    "reopened_by",
    "unfit_words",
    "warnings_in",
    "with_lags",
]
