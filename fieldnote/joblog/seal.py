"""The seal of a closed job: a short code to compare by eye, and a signature by this machine's key.

The close record's hash covers all that was recorded before it. The code is the beginning of that
hash in the letters of RFC 4648 base 32: 16 characters, 80 bits. The signature is Ed25519 (RFC 8032)
over the canonical JSON of the job, the records before the close, its time and its public body.
"""

from __future__ import annotations

import base64
import binascii
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from fieldnote.errors import MissingPartError, StoreError
from fieldnote.joblog.canonical import canonical, sha256
from fieldnote.joblog.database import Database
from fieldnote.joblog.evidence import make_private_folder, write_durably
from fieldnote.joblog.trouble import told_for_people

if TYPE_CHECKING:
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

ALGORITHM = "Ed25519"
_PURPOSE = "fieldnote seal 1"


@dataclass(frozen=True, slots=True)
class Seal:
    """A close record as a seal.

    Attributes:
        number: of the close record.
        code: to compare with a printed one.
        key: fingerprint of the key that signed it; None when unsigned.
        valid: whether the signature fits; True when unsigned.
        ours: whether this machine's key signed it.
    """

    number: int
    code: str
    key: str | None
    valid: bool
    ours: bool


def code_of(hash: str) -> str:
    """The short code of a record's hash, e.g. ``MFRG-GZDF-MZTW-Q2LK``."""
    letters = base64.b32encode(bytes.fromhex(hash)[:10]).decode()
    return "-".join(letters[place : place + 4] for place in range(0, 16, 4))


def fingerprint(key: str) -> str:
    """The short code of a public key (base 64)."""
    return code_of(sha256(base64.b64decode(key)))


def _message(root: str, previous: Sequence[str], at: str, body: Mapping[str, Any]) -> bytes:
    return canonical([_PURPOSE, root, sorted(previous), at, dict(body)])


def seals_of(db: Database, job: int, own: str | None) -> list[Seal]:
    """The closes of a job; ``own`` is this machine's public key."""
    found = []
    for content, hash in db.rows(
        "SELECT content, hash FROM records WHERE job = ? AND kind = 'close' ORDER BY number, hash",
        (job,),
    ):
        fields = json.loads(content)
        valid = sha256(content) == hash and fits(fields)
        signed = fields["body"].get("seal")
        key = signed["key"] if signed and valid else None
        shown = fingerprint(key) if key else None
        ours = key is not None and key == own
        found.append(Seal(fields["number"], code_of(hash), shown, valid, ours))
    return found


def sign(
    folder: Path, root: str, previous: Sequence[str], at: str, body: Mapping[str, Any]
) -> dict[str, str]:
    """The ``seal`` of a close record; the key is made at the first signature.

    Args:
        body: the public part, without ``seal``.
    """
    key = _key(folder / "seal.pem")
    public = base64.b64encode(key.public_key().public_bytes_raw()).decode()
    signature = base64.b64encode(key.sign(_message(root, previous, at, body))).decode()
    return {"algorithm": ALGORITHM, "key": public, "signature": signature}


def fits(fields: Mapping[str, Any]) -> bool:
    """Whether the signature in a close record's fields fits; True when there is none."""
    body = dict(fields["body"])
    seal = body.pop("seal", None)
    if seal is None:
        return True
    try:
        if seal["algorithm"] != ALGORITHM:
            return False
        key = base64.b64decode(seal["key"], validate=True)
        signature = base64.b64decode(seal["signature"], validate=True)
        message = _message(fields["job"], fields["previous"], fields["at"], body)
    except (KeyError, TypeError, binascii.Error, ValueError):
        return False
    ed25519, invalid = _library()
    try:
        ed25519.Ed25519PublicKey.from_public_bytes(key).verify(signature, message)
    except (invalid, ValueError):
        return False
    return True


def own_key(folder: Path) -> str | None:
    """This machine's public key (base 64), if it has one."""
    path = folder / "seal.pem"
    if not path.exists():
        return None
    return base64.b64encode(_key(path).public_key().public_bytes_raw()).decode()


def _key(path: Path) -> Ed25519PrivateKey:
    _library()
    from cryptography.hazmat.primitives import serialization
    from cryptography.hazmat.primitives.asymmetric import ed25519

    with told_for_people(path):
        if not path.exists():
            make_private_folder(path.parent)
            made = ed25519.Ed25519PrivateKey.generate().private_bytes(
                serialization.Encoding.PEM,
                serialization.PrivateFormat.PKCS8,
                serialization.NoEncryption(),
            )
            write_durably(path, iter([made]))
        text = path.read_bytes()
    try:
        key = serialization.load_pem_private_key(text, password=None)
    except (ValueError, TypeError) as error:
        raise StoreError(f"The key {path} cannot be read.", "Put back a copy of it.") from error
    if not isinstance(key, ed25519.Ed25519PrivateKey):
        raise StoreError(f"The key {path} is not an {ALGORITHM} key.", "Put back a copy of it.")
    return key


def _library() -> tuple[Any, type[Exception]]:
    try:
        from cryptography.exceptions import InvalidSignature
        from cryptography.hazmat.primitives.asymmetric import ed25519
    except ImportError as error:
        raise MissingPartError(
            "Signed seals need the package cryptography.", "pip install cryptography"
        ) from error
    return ed25519, InvalidSignature
