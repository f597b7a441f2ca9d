"""Procedures and the register of instruments: TOML in, typed and checked steps out."""

from fieldnote.procedure.instruments import Instrument, Register, load_register
from fieldnote.procedure.loading import check, json_schema, load, shipped
from fieldnote.procedure.model import Fact, Procedure
from fieldnote.procedure.problems import FileProblemsError, Problem
from fieldnote.procedure.results import (
    Taken,
    WireDifference,
    derive,
    judge_points,
    judge_travel,
    values_of,
    wire_differences,
)
from fieldnote.procedure.series import read_series
from fieldnote.procedure.sheet import digest_text, sheet
from fieldnote.procedure.steps import Step
from fieldnote.procedure.writing import template

__all__ = [
    "Fact",
    "FileProblemsError",
    "Instrument",
    "Problem",
    "Procedure",
    "Register",
    "Step",
    "Taken",
    "WireDifference",
    "check",
    "derive",
    "digest_text",
    "json_schema",
    "judge_points",
    "judge_travel",
    "load",
    "load_register",
    "read_series",
    "sheet",
    "shipped",
    "template",
    "values_of",
    "wire_differences",
]
