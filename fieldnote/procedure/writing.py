"""Help for whoever writes a procedure: a commented file to start from."""

from __future__ import annotations

from importlib.resources import files


def template() -> str:
    """A commented procedure file that loads as it stands, with one step of every common kind."""
    return (files("fieldnote.procedure") / "template.toml").read_text(encoding="utf-8")
