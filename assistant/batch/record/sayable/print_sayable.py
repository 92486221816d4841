"""What may be said of printing: key -> names of the values that its wording may use."""

PRINT_SAYABLE = {
    "print_label": "tray",
    "print_label_batch": "batch",
    "print_labels": "batch",
    "print_sheet": "batch",
    "print_day": "",
    "print_again": "count",
    "print_nothing": "",
    "print_none_kept": "",
    "print_no_printer": "",
    "print_no_tray": "tray trays",
    "ask_print_whole": "batch",
    "ask_print_kept": "count",
    "print_stays": "",
    "print_waits": "count",
    "print_failed_printer": "",
    "print_failed_paper": "",
    "print_failed_allergens": "",
    "print_failed_nothing": "",
}
