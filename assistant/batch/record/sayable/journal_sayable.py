"""What may be said of the record: key -> names of the values that its wording may use."""

JOURNAL_SAYABLE: dict[str, str] = {
    "not_written": "why",
    "written_again": "",
    "journal_unread": "",
    "journal_moved": "",
    "journal_aside": "count",
    "journal_lost": "count",
    "journal_put_back": "",
    "journal_damaged": "",
    "copy_failed": "",
}
