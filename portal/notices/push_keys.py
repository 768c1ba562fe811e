"""The key pair by which push services know this portal, and the keys of a browser.

VAPID is RFC 8292, the encryption for a browser RFC 8291: both use the curve P-256. Keys are written
in base64url without padding, the private one as its 32 bytes, a public one as a point of 65 bytes.
"""

from base64 import urlsafe_b64decode, urlsafe_b64encode

from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.serialization import Encoding, PublicFormat

from portal.shop.codes import RandomBytes

KEY_BYTES, AUTH_BYTES = 32, 16
# the order of the curve: NIST SP 800-186, section 3.2.1.3
ORDER = 0xFFFFFFFF00000000FFFFFFFFFFFFFFFFBCE6FAADA7179E84F3B9CAC2FC632551


def new_private_key(random_bytes: RandomBytes) -> str:
    """Return a new private key."""
    number = int.from_bytes(random_bytes(2 * KEY_BYTES)) % (ORDER - 1) + 1
    return _to_text(number.to_bytes(KEY_BYTES))


def public_key_of(private_key: str) -> str:
    """Return the public key that browsers subscribe with."""
    number = int.from_bytes(_to_bytes(private_key))
    point = ec.derive_private_key(number, ec.SECP256R1()).public_key()
    return _to_text(point.public_bytes(Encoding.X962, PublicFormat.UncompressedPoint))


def are_keys_of_a_browser(p256dh: str, auth: str) -> bool:
    """Return whether these are a point of the curve and a secret of 16 bytes."""
    try:
        ec.EllipticCurvePublicKey.from_encoded_point(ec.SECP256R1(), _to_bytes(p256dh))
        return len(_to_bytes(auth)) == AUTH_BYTES
    except ValueError:
        return False


def _to_text(raw: bytes) -> str:
    return urlsafe_b64encode(raw).rstrip(b"=").decode()


def _to_bytes(text: str) -> bytes:
    return urlsafe_b64decode(text.encode("ascii", "strict") + b"=" * (-len(text) % 4))
