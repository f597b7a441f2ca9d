"""Procedures and the register of instruments: TOML in, typed and checked steps out."""

from fieldnote.procedure.instruments import Instrument, Register, load_register
from fieldnote.procedure.loading import check, json_schema, load, shipped
from fieldnote.procedure.model import Fact, Procedure
from fieldnote.procedure.problems import FileProblemsError, Problem
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
    "check",
    "digest_text",
    "json_schema",
    "load",
    "load_register",
    "sheet",
    "shipped",
    "template",
]
