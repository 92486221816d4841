"""What may be said of the journal: key -> names of the values that its wording may use."""

JOURNAL_SAYABLE: dict[str, str] = {
    "cannot_write": "",
    "not_written": "why",
    "written_again": "",
    "journal_unread": "",
    "journal_moved": "",
    "journal_aside": "count",
    "journal_lost": "count",
}
