"""Procedures and the register of instruments: TOML in, typed and checked steps out."""

from fieldnote.procedure.instruments import Instrument, Register, load_register
from fieldnote.procedure.loading import check, json_schema, load, shipped
from fieldnote.procedure.model import Fact, Procedure
from fieldnote.procedure.problems import FileProblemsError, Problem
from fieldnote.procedure.steps import Step

__all__ = [
    "Fact",
    "FileProblemsError",
    "Instrument",
    "Problem",
    "Procedure",
    "Register",
    "Step",
    "check",
    "json_schema",
    "load",
    "load_register",
    "shipped",
]
