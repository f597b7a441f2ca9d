"""One and only one way to write a record down: canonical JSON (RFC 8785), hashed with SHA-256."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from typing import Any

import rfc8785

from fieldnote.errors import BadInputError

_LARGEST = 2**53 - 1  # the integers that every JSON reader keeps exactly (RFC 8785, 3.2.2.3)
_DEEPEST = 40


def plain(value: object, where: str = "body", depth: int = 0) -> Any:
    """``value`` as dicts, lists, strings, integers, booleans and None; nothing else gets through.

    Raises:
        BadInputError: naming the key that holds a binary float (rule 3: exact decimals are
            strings), a type that JSON does not have, or text that is not valid Unicode.
    """
    if depth > _DEEPEST:
        raise BadInputError(f"{where[:80]}… is nested too deeply.")
    if isinstance(value, str):
        try:
            value.encode()
        except UnicodeEncodeError as error:
            raise BadInputError(f"{where} holds text that is not valid Unicode.") from error
        return value
    if value is None or isinstance(value, bool):
        return value
    if isinstance(value, int):
        if abs(value) > _LARGEST:
            raise BadInputError(f"{where} is too large for a JSON integer.", "Give it as text.")
        return int(value)
    if isinstance(value, Mapping):
        for key in value:
            if not isinstance(key, str):
                raise BadInputError(f"{where} has the key {key!r}, which is not text.")
        return {
            plain(key, where): plain(item, f"{where}.{key}", depth + 1)
            for key, item in value.items()
        }
    if isinstance(value, list | tuple):
        return [plain(item, f"{where}[{place}]", depth + 1) for place, item in enumerate(value)]
    if isinstance(value, float):
        raise BadInputError(
            f"{where} is a binary float ({value!r}), which loses the digits.",
            "Give numbers as text with their exact digits.",
        )
    raise BadInputError(f"{where} is a {type(value).__name__}, which cannot be stored as JSON.")


def canonical(value: Any) -> bytes:
    """RFC 8785 bytes of a value that :func:`plain` let through.

    The standard library writes the same bytes many times faster, as there are no floats, unless
    keys hold characters beyond U+FFFF: RFC 8785 (3.2.3) sorts by UTF-16 code units, Python by code
    points, and only there the two orders differ. A test holds both to each other.
    """
    text = json.dumps(value, sort_keys=True, ensure_ascii=False, separators=(",", ":"))
    if text.isascii() or max(text) < "\U00010000":
        return text.encode()
    return rfc8785.dumps(value)


def sha256(content: bytes) -> str:
    """64 lower-case hexadecimal digits."""
    return hashlib.sha256(content).hexdigest()
