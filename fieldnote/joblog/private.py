"""Facts about people: inside the hash chain, yet removable without breaking it.

The chain holds only a commitment to each private fact: SHA-256 over the canonical JSON of
``[salt, name, value]``, with 128 random bits of salt so that a name cannot be guessed from it.
The fact itself (its *opening*: salt and value) is kept beside the record. An opening can be left
out of a bundle, or removed when its keeping time is over, and every hash still fits.
"""

from __future__ import annotations

import secrets
from collections.abc import Mapping
from typing import Any

from fieldnote.joblog.canonical import canonical, sha256

PRIVATE_FACTS = frozenset(
    {
        "customer",
        "contact",
        "site",
        "place",
        "address",
        "phone",
        "email",
        "technician",
        "signed",
    }
)

Openings = dict[str, list[Any] | None]
"""Salt and value by name; None in place of one that was removed and must not come back."""


def commitment(salt: str, name: str, value: Any) -> str:
    return sha256(canonical([salt, name, value]))


def split(body: Mapping[str, Any]) -> tuple[dict[str, Any], dict[str, str], Openings]:
    """Public part of a body, the commitments to its private facts, and their openings."""
    public: dict[str, Any] = {}
    commitments: dict[str, str] = {}
    openings: Openings = {}
    for name, value in body.items():
        if name in PRIVATE_FACTS and value is not None:
            salt = secrets.token_hex(16)
            openings[name] = [salt, value]
            commitments[name] = commitment(salt, name, value)
        else:
            public[name] = value
    return public, commitments, openings


def opened(openings: Mapping[str, Any]) -> dict[str, Any]:
    """The values of the private facts that are still kept."""
    return {name: opening[1] for name, opening in openings.items() if opening is not None}


def opens(commitments: Mapping[str, str], name: str, opening: object) -> bool:
    """Whether ``opening`` is the salt and value that the record committed to under ``name``."""
    if opening is None:
        return name in commitments
    if not (isinstance(opening, list) and len(opening) == 2 and isinstance(opening[0], str)):
        return False
    return commitments.get(name) == commitment(opening[0], name, opening[1])
