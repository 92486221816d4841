"""Settings of the shared memory of a group of stations: where it is, and how often it is looked at."""

from typing import Annotated

from msgspec import Meta, Struct

from assistant.config.toml_words import ALLOWED, number


class SyncSettings(Struct, frozen=True):
    """The PostgreSQL server of the kitchen's group; none is needed."""

    server: Annotated[
        str,
        Meta(
            pattern=r"^(postgresql://[^\s\x00-\x1f]{1,200})?\Z",
            description="PostgreSQL server that keeps the memory of a group of stations, with the account of "
            "this one and without its password, which is in group.pass beside this file: "
            'postgresql://kitchen_one@db.example/crumbcall; "" for none',
            extra={ALLOWED: "an address that begins with postgresql://, or nothing"},
        ),
    ] = ""
    certificate: Annotated[
        str,
        Meta(
            max_length=200,
            description="file with the certificate that signed the server's, absolute or beside this file; "
            '"" for those that this machine trusts',
        ),
    ] = ""
    every_s: Annotated[float, number("pause between two looks at it", 5, 86_400, "s")] = 30.0
