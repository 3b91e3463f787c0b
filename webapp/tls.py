"""A certificate authority for one practice, and a certificate for its server.

Browsers keep an app for use without network only from https. Without a public name the practice is its own
authority, made so that trusting it on a phone risks little: by its name constraints it is believed for this
server's names and addresses only, and it can sign no other authority. Whoever has a public name takes a public
certificate instead (DNS-01) and needs none of this.
"""

import ipaddress
import os
import re
import sys
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import NamedTuple, cast

from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

AUTHORITY_DAYS = 3650
SERVER_DAYS = 397  # iOS believes no server certificate of a private authority beyond 825 days; browsers tend to 398
RENEW_DAYS = 30  # a server certificate with less than this left is made anew
EARLIER = timedelta(days=1)  # phones whose clock is behind

AUTHORITY, AUTHORITY_KEY, FOR_PHONES = "authority.pem", "authority.key", "authority.crt"
SERVER, SERVER_KEY = "server.pem", "server.key"

Address = ipaddress.IPv4Address | ipaddress.IPv6Address
_LABEL = re.compile(r"(?!-)[a-z0-9-]{1,63}(?<!-)")


class TlsError(ValueError):
    """No certificate can be made as asked; the message says why."""


class Made(NamedTuple):
    """What lies in the folder now: the names, whether the authority is new (phones must trust it anew), its
    fingerprint (SHA-256, pairs of hex), and until when the server's certificate holds."""

    folder: Path
    names: list[str]
    new_authority: bool
    fingerprint: str
    until: datetime


def make(folder: Path, names: list[str], practice: str, now: datetime | None = None) -> Made:
    """Make or renew what the server needs in `folder`. An authority that is there and covers the names is kept,
    so phones that trust it need nothing new. Raises TlsError, OSError."""
    now = now or datetime.now(UTC)
    wanted = [_general(name) for name in _checked(names)]
    folder.mkdir(parents=True, exist_ok=True, mode=0o700)
    authority, key, fresh = _authority(folder, wanted, practice, now)
    until = _server(folder, authority, key, wanted, now, fresh)
    return Made(folder, names, fresh, fingerprint(authority), until)


def fingerprint(certificate: x509.Certificate) -> str:
    """SHA-256 of the certificate as phones show it: AB:CD:..."""
    return certificate.fingerprint(hashes.SHA256()).hex(":").upper()


def days_left(certificate: Path, now: datetime | None = None) -> int:
    """Whole days that a certificate in a PEM file still holds; negative once it is over."""
    loaded = x509.load_pem_x509_certificate(certificate.read_bytes())
    return (loaded.not_valid_after_utc - (now or datetime.now(UTC))).days


def serve_command(folder: Path, host: str, port: int) -> list[str]:
    """The command that serves the practice with this certificate."""
    return [
        str(Path(sys.executable).with_name("granian")),
        *("--interface", "wsgi", "--factory", "webapp:served"),
        *("--workers", "1", "--blocking-threads", "4", "--no-ws"),
        *("--host", host, "--port", str(port)),
        *("--ssl-certificate", str(folder / SERVER), "--ssl-keyfile", str(folder / SERVER_KEY)),
        *("--ssl-protocol-min", "tls1.2"),
    ]


def _checked(names: list[str]) -> list[str]:
    if not names:
        raise TlsError("Name the server: the name or address that phones open, such as gelside.lan or 192.168.1.20.")
    return names


def _general(name: str) -> x509.DNSName | x509.IPAddress:
    """A DNS name or an IP address. Raises TlsError."""
    try:
        return x509.IPAddress(ipaddress.ip_address(name))
    except ValueError:
        labels = name.lower().split(".")
        if len(name) > 253 or not all(_LABEL.fullmatch(label) for label in labels) or labels[-1].isdigit():
            raise TlsError(f"{name!r} is neither a name nor an address.") from None
        return x509.DNSName(name.lower())


def _authority(
    folder: Path, wanted: list[x509.DNSName | x509.IPAddress], practice: str, now: datetime
) -> tuple[x509.Certificate, ec.EllipticCurvePrivateKey, bool]:
    if (folder / AUTHORITY).is_file() and (folder / AUTHORITY_KEY).is_file():
        kept = x509.load_pem_x509_certificate((folder / AUTHORITY).read_bytes())
        if _covers(kept, wanted) and kept.not_valid_after_utc > now + timedelta(days=SERVER_DAYS):
            return kept, _load_key(folder / AUTHORITY_KEY), False
    key = ec.generate_private_key(ec.SECP256R1())
    title = f"Gelside authority of {practice}"[:64]
    name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, title)])
    usage = x509.KeyUsage(False, False, False, False, False, True, True, False, False)
    made = (
        _builder(name, name, key.public_key(), now, AUTHORITY_DAYS)
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .add_extension(usage, critical=True)
        .add_extension(x509.NameConstraints(_permitted(wanted), _excluded(wanted)), critical=True)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False)
        .sign(key, hashes.SHA256())
    )
    _write(folder / AUTHORITY_KEY, _pem_key(key), 0o600)
    _write(folder / AUTHORITY, made.public_bytes(serialization.Encoding.PEM), 0o644)
    _write(folder / FOR_PHONES, made.public_bytes(serialization.Encoding.DER), 0o644)
    return made, key, True


def _server(
    folder: Path,
    authority: x509.Certificate,
    key: ec.EllipticCurvePrivateKey,
    wanted: list[x509.DNSName | x509.IPAddress],
    now: datetime,
    fresh: bool,
) -> datetime:
    """Make the server's certificate where it is missing, too old, for other names or of another authority."""
    path = folder / SERVER
    if path.is_file() and not fresh:
        kept = x509.load_pem_x509_certificate(path.read_bytes())
        names = kept.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
        if set(names) == set(wanted) and kept.not_valid_after_utc > now + timedelta(days=RENEW_DAYS):
            return kept.not_valid_after_utc
    own = ec.generate_private_key(ec.SECP256R1())
    title = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, str(wanted[0].value)[:64])])
    usage = x509.KeyUsage(True, False, False, False, False, False, False, False, False)
    made = (
        _builder(title, authority.subject, own.public_key(), now, SERVER_DAYS)
        .add_extension(x509.SubjectAlternativeName(wanted), critical=False)
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(usage, critical=True)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(own.public_key()), critical=False)
        .add_extension(x509.AuthorityKeyIdentifier.from_issuer_public_key(key.public_key()), critical=False)
        .sign(key, hashes.SHA256())
    )
    _write(folder / SERVER_KEY, _pem_key(own), 0o600)
    _write(path, made.public_bytes(serialization.Encoding.PEM), 0o644)
    return made.not_valid_after_utc


def _builder(
    subject: x509.Name, issuer: x509.Name, key: ec.EllipticCurvePublicKey, now: datetime, days: int
) -> x509.CertificateBuilder:
    return (
        x509.CertificateBuilder()
        .subject_name(subject)
        .issuer_name(issuer)
        .public_key(key)
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - EARLIER)
        .not_valid_after(now - EARLIER + timedelta(days=days))
    )


def _permitted(wanted: list[x509.DNSName | x509.IPAddress]) -> list[x509.GeneralName]:
    """The only names and addresses the authority is believed for."""
    return [
        one if isinstance(one, x509.DNSName) else x509.IPAddress(ipaddress.ip_network(cast(Address, one.value)))
        for one in wanted
    ]


def _excluded(wanted: list[x509.DNSName | x509.IPAddress]) -> list[x509.GeneralName] | None:
    """A form of name that is not permitted anywhere must be excluded: constraints bind only the forms they name."""
    nothing: list[x509.GeneralName] = []
    if not any(isinstance(one, x509.DNSName) for one in wanted):
        nothing.append(x509.DNSName(""))
    versions = {cast(Address, one.value).version for one in wanted if isinstance(one, x509.IPAddress)}
    if not versions:
        nothing += [x509.IPAddress(ipaddress.ip_network(net)) for net in ("0.0.0.0/0", "::/0")]
    return nothing or None


def _covers(authority: x509.Certificate, wanted: list[x509.DNSName | x509.IPAddress]) -> bool:
    constraints = authority.extensions.get_extension_for_class(x509.NameConstraints).value
    return set(_permitted(wanted)) <= set(constraints.permitted_subtrees or [])


def _load_key(path: Path) -> ec.EllipticCurvePrivateKey:
    return cast(ec.EllipticCurvePrivateKey, serialization.load_pem_private_key(path.read_bytes(), None))


def _pem_key(key: ec.EllipticCurvePrivateKey) -> bytes:
    return key.private_bytes(
        serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, serialization.NoEncryption()
    )


def _write(path: Path, data: bytes, mode: int) -> None:
    """Put the file in place in one step, with its rights from the first moment on."""
    arriving = path.with_suffix(f"{path.suffix}.arriving")
    arriving.unlink(missing_ok=True)
    with os.fdopen(os.open(arriving, os.O_WRONLY | os.O_CREAT | os.O_EXCL, mode), "wb") as file:
        file.write(data)
        file.flush()
        os.fsync(file.fileno())
    os.replace(arriving, path)
