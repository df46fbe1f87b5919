"""The test vectors of RFC 4231 through the function that signs webhooks.

Data    M. Nystrom, Identifiers and Test Vectors for HMAC-SHA-224, HMAC-SHA-256,
        HMAC-SHA-384, and HMAC-SHA-512, RFC 4231 (December 2005), section 4, test
        cases 1 to 7; HMAC itself is RFC 2104.
Values  HMAC-SHA-256 of each case; case 5 is printed there cut to 128 bits.
Read    2026-11-27, from copies of the vectors in three public test suites, which agree.
Digits  Every hexadecimal digit.
"""

import pytest

from dashboard.webhook import signed

LONG = b"\xaa" * 131
LONG_MESSAGE = (
    b"This is a test using a larger than block-size key and a larger than block-size "
    b"data. The key needs to be hashed before being used by the HMAC algorithm."
)


@pytest.mark.parametrize(
    ("key", "message", "digest"),
    [
        (
            b"\x0b" * 20,
            b"Hi There",
            "b0344c61d8db38535ca8afceaf0bf12b881dc200c9833da726e9376c2e32cff7",
        ),
        (
            b"Jefe",
            b"what do ya want for nothing?",
            "5bdcc146bf60754e6a042426089575c75a003f089d2739839dec58b964ec3843",
        ),
        (
            b"\xaa" * 20,
            b"\xdd" * 50,
            "773ea91e36800e46854db8ebd09181a72959098b3ef8c122d9635514ced565fe",
        ),
        (
            bytes(range(1, 26)),
            b"\xcd" * 50,
            "82558a389a443c0ea4cc819899f2083a85f0faa3e578f8077a2e3ff46729665b",
        ),
        (b"\x0c" * 20, b"Test With Truncation", "a3b6167473100ee06e0c796c2955552b"),
        (
            LONG,
            b"Test Using Larger Than Block-Size Key - Hash Key First",
            "60e431591ee0b67f0d8a26aacbf5b77f8e0bc6213728c5140546040f0ee37f54",
        ),
        (
            LONG,
            LONG_MESSAGE,
            "9b09ffa71b942fcb27635fbcd5b0e944bfdc63644f0713938a7f51535c3a35e2",
        ),
    ],
)
def test_a_vector_comes_out_as_printed(key, message, digest):
    assert signed(key, message).hex()[: len(digest)] == digest
