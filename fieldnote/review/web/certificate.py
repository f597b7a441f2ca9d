"""A certificate made on the spot, so that the phone page has HTTPS without anybody's help."""

from __future__ import annotations

import ipaddress
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

LASTS = timedelta(days=7)


@dataclass(frozen=True, slots=True)
class Certificate:
    """cert, key: PEM. fingerprint: SHA-256 as browsers show it, to be compared by eye."""

    cert: bytes
    key: bytes
    fingerprint: str


def make(hosts: list[str]) -> Certificate:
    """A self-signed certificate (X.509, ECDSA P-256) for these names and IP addresses."""
    key = ec.generate_private_key(ec.SECP256R1())
    name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "Fieldnote on this machine")])
    now = datetime.now(UTC)
    cert = (
        x509.CertificateBuilder()
        .subject_name(name)
        .issuer_name(name)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - timedelta(minutes=5))  # phones' clocks differ
        .not_valid_after(now + LASTS)
        .add_extension(x509.SubjectAlternativeName([_named(host) for host in hosts]), False)
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), True)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), False)
        .sign(key, hashes.SHA256())
    )
    return Certificate(
        cert.public_bytes(serialization.Encoding.PEM),
        key.private_bytes(
            serialization.Encoding.PEM,
            serialization.PrivateFormat.PKCS8,
            serialization.NoEncryption(),
        ),
        cert.fingerprint(hashes.SHA256()).hex(":").upper(),
    )


def _named(host: str) -> x509.GeneralName:
    try:
        return x509.IPAddress(ipaddress.ip_address(host))
    except ValueError:
        return x509.DNSName(host)
