"""What a server or the way to it refuses, as one clear line: what was found, and what to do."""

_NOT_PREPARED = "the database is not prepared for Crumbcall; there: crumbcall sync prepare"
_NO_HOST = "no such host is known here; correct [sync] server, or connect the network"
_NO_ANSWER = "nothing answers there; start the server, or correct [sync] server"
_NO_SIGNER = "the file of [sync] certificate is missing or is no certificate; name the right one"

_BY_TEXT = (
    ("password authentication failed", "the password of {account} is wrong; write the right one into {file}"),
    ("no password supplied", "it wants a password for {account}; write it into {file}, chmod 600"),
    ("no pg_hba.conf entry", "it does not let {account} in from here; allow it in its pg_hba.conf"),
    ("does not support SSL", "it has no TLS, without which nothing is sent; there: ssl = on"),
    ("server certificate for", "its certificate is for another name; write that name into [sync] server"),
    (
        "certificate verify failed",
        "its certificate is not trusted here; name its signer's: [sync] certificate",
    ),
    ("root certificate file", _NO_SIGNER),
    ("could not read root certificate", _NO_SIGNER),
    ("could not translate host name", _NO_HOST),
    ("Name or service not known", _NO_HOST),
    ("failed to resolve host", _NO_HOST),
    ("Connection refused", _NO_ANSWER),
    ("No such file or directory", _NO_ANSWER),
    ("timeout expired", "it does not answer; connect the network, or correct [sync] server"),
    ("timeout", "it does not answer; connect the network, or correct [sync] server"),
    ('role "', "it has no account {account}; there: CREATE ROLE {account} LOGIN IN ROLE crumbcall_station"),
    ('database "', "it has no database {database}; there: createdb {database}"),
)
"""What libpq says -> what a person is told, the first that fits."""
_BY_CODE = {
    "3F000": _NOT_PREPARED,
    "42P01": _NOT_PREPARED,
    "CR003": "{said}: the journal here is damaged, nothing more is sent; crumbcall ledger verify",
    "42501": "the account {account} may not do that; there: GRANT crumbcall_station TO {account}",
}
"""The same, by what the server calls it (SQLSTATE)."""
_OF_THE_WAY = ("08", "28", "3D", "57P")
"""Classes of SQLSTATE that are about connecting, beside what has none."""


def told_line(text: str, code: str | None, *, account: str, database: str, passwords: str) -> str:
    """The line for what the library said with this SQLSTATE; `passwords`: the file that has them."""
    said = " ".join(text.split("\n", maxsplit=1)[0].split()) or "no reason given"
    found = _BY_CODE.get(code or "")
    if found is None and (code is None or code.startswith(_OF_THE_WAY)):
        found = next((told for sign, told in _BY_TEXT if sign in text), None)
        if found is None:
            return f"the connection is lost ({said})"
    if found is None:
        return said
    return found.format(said=said, account=account, database=database, file=passwords)
