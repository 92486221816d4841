"""What may be said of the parts of a station: key -> names of the values that its wording may use."""

PARTS_SAYABLE: dict[str, str] = {
    "worker_died": "worker",
    "worker_works": "worker",
    "parts_missing": "parts",
    "fell_behind": "",
    "switch_stuck": "",
    "switch_lost": "",
    "switch_works": "",
}
