"""Paper: batch sheet, day sheet and label as HTML, PDF and dots; the board serves the same pages."""
